package report

import (
	"fmt"
	"io"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/sale"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Plan is a whole sale, planned.
type Plan struct {
	Sale   *sale.Sale
	Plan   *plan.Plan
	Result plan.Result
	// Resources are what there was before the first lot.
	Resources plan.Resources
	Settings  plan.Settings
	Shop      *shop.Shop
	Folder    string // of the shop; "" where all is built in
	Seed      uint64
	Points    int
	// Details adds to the JSON all that the plan was worked out from.
	Details bool
	Quiet   bool
	// Sold are the lots that have closed.
	Sold     []plan.Sold
	Rejected []tabular.Problem
	Notices  []string
	// Freeze writes the command line that keeps the estimate of a lot that was bought, by its name in the sale.
	Freeze func(name string, lot *evaluate.Lot, hammer float64) string
}

// Lot returns the evaluated lot of a number in the sale.
func (p *Plan) Lot(i int) *evaluate.Lot { return p.Sale.Entries[i].Result.Lot }

// Name returns the name of a lot, safe to show.
func (p *Plan) Name(i int) string { return Clean(p.Sale.Entries[i].Plan.Name) }

// Car names a lot's car, safe to show.
func (p *Plan) Car(i int) string { return CarWords(p.Sale.Entries[i].Result) }

// Limit is a lot's own limit in pounds.
func (p *Plan) Limit(i int) float64 { return p.Sale.Entries[i].Plan.Limit }

// Closes writes when a lot closes, "" where nobody says. In a sale of one day the day is left out.
func (p *Plan) Closes(i int) string {
	l := &p.Sale.Entries[i].Plan
	switch {
	case l.Closes.IsZero():
		return ""
	case l.DayOnly:
		return l.Closes.Format(time.DateOnly)
	case l.Closes.Year() <= 1 || p.oneDay():
		return l.Closes.Format("15:04")
	}
	return l.Closes.Format("2 Jan 15:04")
}

func (p *Plan) oneDay() bool {
	e := p.Sale.Entries
	return e[0].Plan.Closes.Format(time.DateOnly) == e[len(e)-1].Plan.Closes.Format(time.DateOnly)
}

// Coming returns the bays and the pence that come on top between lot i of those to come and the
// lot before it.
func (p *Plan) Coming(i int) (bays int, pence int64) {
	now := p.Result.Standing.First + i
	at := p.Sale.Entries[now].Plan.Closes
	for _, c := range p.Resources.Growth {
		if c.On.After(at) || now > 0 && !c.On.After(p.Sale.Entries[now-1].Plan.Closes) {
			continue
		}
		bays += c.Bays
		pence += int64(money.FromPounds(c.Cash))
	}
	return bays, pence
}

// The JSON of a plan: money in pounds, shares as fractions.
type (
	salePlanJSON struct {
		Cash         *float64 `json:"cash"`
		Bays         int      `json:"bays"`
		Gain         float64  `json:"gain"`
		P10          float64  `json:"p10"`
		P50          float64  `json:"p50"`
		P90          float64  `json:"p90"`
		LossChance   float64  `json:"loss_chance"`
		NoneChance   float64  `json:"none_chance"`
		Cars         float64  `json:"cars"`
		Tied         float64  `json:"tied"`
		Hours        float64  `json:"hours"`
		BayMore      float64  `json:"bay_more"`
		ThousandMore float64  `json:"thousand_more"`
		OwnLimits    float64  `json:"own_limits"`
		FixedRule    float64  `json:"fixed_rule"`
		FixedShare   float64  `json:"fixed_share"`
		Sheet        float64  `json:"sheet"`
		Table        float64  `json:"table"`
		MoneyShort   *float64 `json:"money_short"`
		// Independent is the gain with prices taken as independent.
		Independent float64 `json:"independent"`
		Simulated   float64 `json:"simulated"`
		SimulatedSE float64 `json:"simulated_se"`
		NotScarce   bool    `json:"not_scarce"`
		NoBid       string  `json:"no_bid"`
	}
	standingJSON struct {
		Next      string     `json:"next"`
		SaleScore [2]float64 `json:"sale_score"` // mean and variance of how dear the sale runs
		Heard     int        `json:"heard"`
		Gone      []string   `json:"gone"`
	}
	whyJSON struct {
		Held  string   `json:"held"`
		Bay   float64  `json:"bay"`
		Money float64  `json:"money"`
		Lots  []string `json:"lots"`
	}
	afterJSON struct {
		Bought int     `json:"bought"`
		Chance float64 `json:"chance"`
		Cash   float64 `json:"cash"`
		Stop   float64 `json:"stop"`
	}
	plannedJSON struct {
		Site      string      `json:"site"`
		Car       string      `json:"car"`
		Closes    *string     `json:"closes"`
		Group     *int        `json:"group"`
		OwnLimit  float64     `json:"own_limit"`
		Stop      float64     `json:"stop"`
		Why       whyJSON     `json:"why"`
		WinChance *float64    `json:"win_chance"`
		BuyChance *float64    `json:"buy_chance"`
		Gain      float64     `json:"gain"`
		Needs     float64     `json:"needs"`
		Stops     [][]float64 `json:"stops"` // by free bays from 1, by level of money
		After     []afterJSON `json:"after"`
	}
	// planLotJSON is a lot to come, what it was worked out from, or both.
	planLotJSON struct {
		Lot string `json:"lot"`
		*plannedJSON
		*planDetailJSON
	}
	planDetailJSON struct {
		Guide   *float64            `json:"guide"`
		Hammer  *plan.HammerDetails `json:"hammer"`
		Opening float64             `json:"opening"`
		Cap     float64             `json:"cap"`
		Margin  []float64           `json:"margin"`
		Tied    []float64           `json:"tied"`
		Score   [3]float64          `json:"score"`
		SD      float64             `json:"sd"`
		Repair  float64             `json:"repair"`
		Resale  float64             `json:"resale"`
	}
	sheetJSON struct {
		Levels []float64   `json:"levels"`
		Bays   []int       `json:"bays"`
		Stops  [][]float64 `json:"stops"` // by lot, by level
	}
	planGroupJSON struct {
		Lots      []string  `json:"lots"`
		Stops     []float64 `json:"stops"`
		SpokenFor float64   `json:"spoken_for"`
	}
	planSettingsJSON struct {
		PriceLink  float64 `json:"price_link"`
		MarketLink float64 `json:"market_link"`
		BayValue   float64 `json:"bay_value"`
		MoneyValue float64 `json:"money_value"`
		CostBias   float64 `json:"cost_bias"`
		Together   float64 `json:"together"`
	}
	planDetailsJSON struct {
		BidStep float64            `json:"bid_step"`
		Spread  [3]float64         `json:"spread"`
		Gap     float64            `json:"gap"`
		Sold    []plan.SoldDetails `json:"sold,omitempty"`
	}
)

// JSON writes the plan as one object.
func (p *Plan) JSON(w io.Writer) error {
	r := &p.Result
	out := struct {
		Seed     uint64            `json:"seed"`
		Points   int               `json:"points"`
		Shop     shopJSON          `json:"shop"`
		Rejected []tabular.Problem `json:"rejected"`
		Notices  []string          `json:"notices"`
		Settings planSettingsJSON  `json:"settings"`
		*planDetailsJSON
		Plan     salePlanJSON    `json:"plan"`
		Standing standingJSON    `json:"standing"`
		Levels   []float64       `json:"levels"`
		Sheet    sheetJSON       `json:"sheet"`
		Paper    sheetJSON       `json:"paper"`
		Groups   []planGroupJSON `json:"groups"`
		Lots     []planLotJSON   `json:"lots"`
	}{
		Seed:     p.Seed,
		Points:   p.Points,
		Shop:     shopOf(p.Shop, p.Folder),
		Rejected: p.Rejected,
		Notices:  p.Notices,
		Plan:     p.whole(),
		Standing: p.standing(),
		Levels:   rounded(r.Table.Levels),
		Sheet:    sheetOf(&r.Sheet6),
		Paper:    sheetOf(&r.Sheet8),
		Settings: planSettingsJSON{
			p.Settings.PriceLink,
			p.Settings.MarketLink,
			p.Settings.BayValue,
			p.Settings.MoneyValue,
			p.Settings.CostBias,
			p.Settings.Together,
		},
		Groups: []planGroupJSON{},
		Lots:   []planLotJSON{},
	}
	if out.Rejected == nil {
		out.Rejected = []tabular.Problem{}
	}
	if out.Notices == nil {
		out.Notices = []string{}
	}
	for _, g := range r.Groups {
		out.Groups = append(out.Groups, planGroupJSON{p.names(g.Lots), rounded(g.Stops), cents(g.SpokenFor)})
	}
	for i := range r.Lots {
		out.Lots = append(out.Lots, planLotJSON{Lot: p.Sale.Entries[r.Lots[i].Lot].Plan.Name, plannedJSON: p.planned(i)})
	}
	if p.Details {
		s := p.Shop.GuideSpread
		d := p.Plan.Details([3]float64{s.Low, s.Mid, s.High})
		out.planDetailsJSON = &planDetailsJSON{d.BidStep, d.Spread, d.Gap, d.Sold}
		out.Lots = withDetails(d.Lots, out.Lots)
	}
	return encode(w, out)
}

// withDetails gives the lots what they were worked out from, those that have closed first.
func withDetails(details []plan.LotDetails, lots []planLotJSON) []planLotJSON {
	closed := len(details) - len(lots)
	out := make([]planLotJSON, len(details))
	for i, d := range details {
		if i >= closed {
			out[i] = lots[i-closed]
		}
		out[i].Lot = d.Lot
		out[i].planDetailJSON = &planDetailJSON{
			Guide: d.Guide, Hammer: d.Hammer, Opening: d.Opening, Cap: d.Cap, Margin: listed(d.Margin), Tied: listed(d.Tied),
			Score: d.Score, SD: spreadOrOne(&d), Repair: d.Repair, Resale: d.Resale,
		}
	}
	return out
}

// spreadOrOne is the sd of a lot's margin. A lot that is never bid on may have none: 1 then, which
// counts for nothing, and which a program can divide by.
func spreadOrOne(d *plan.LotDetails) float64 {
	if d.SD == 0 && d.Cap == 0 {
		return 1
	}
	return d.SD
}

// listed is a list that JSON does not write as null.
func listed(x []float64) []float64 { return append([]float64{}, x...) }

func rounded(x []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = cents(x[i])
	}
	return out
}

func sheetOf(s *plan.Sheet) sheetJSON {
	out := sheetJSON{rounded(s.Levels), s.Bays, [][]float64{}}
	for _, row := range s.Stops {
		out.Stops = append(out.Stops, rounded(row))
	}
	return out
}

func (p *Plan) names(lots []int) []string {
	out := make([]string, len(lots))
	for a, i := range lots {
		out[a] = p.Sale.Entries[i].Plan.Name
	}
	return out
}

func (p *Plan) whole() salePlanJSON {
	r := &p.Result
	out := salePlanJSON{
		Bays:       r.Bays,
		Gain:       cents(r.Gain),
		P10:        cents(r.P10),
		P50:        cents(r.P50),
		P90:        cents(r.P90),
		LossChance: share(r.LossChance),
		NoneChance: share(r.NoneChance),
		Cars: share(
			r.Cars,
		),
		Tied:         cents(r.Tied),
		Hours:        cents(r.Hours),
		BayMore:      cents(r.BayMore),
		ThousandMore: cents(r.ThousandMore),
		OwnLimits:    cents(r.OwnLimits),
		FixedRule: cents(
			r.FixedRule,
		),
		FixedShare:  share(r.FixedShare),
		Sheet:       cents(r.SheetGain),
		Table:       cents(r.TableGain),
		Independent: cents(r.Independent),
		Simulated: cents(
			r.Simulated,
		),
		SimulatedSE: cents(r.SimulatedSE),
		NotScarce:   r.Facts.NotScarce,
		NoBid:       string(r.Facts.NoBid.Reason),
	}
	if r.Cash != plan.NoLimit {
		out.Cash = new(cents(r.Cash))
	}
	if r.MoneyShort != nil {
		out.MoneyShort = new(share(*r.MoneyShort))
	}
	return out
}

func (p *Plan) standing() standingJSON {
	now := &p.Result.Standing
	out := standingJSON{SaleScore: [2]float64{now.Common.Mean, now.Common.Var}, Heard: now.Heard, Gone: p.names(now.Gone)}
	if now.First < len(p.Sale.Entries) {
		out.Next = p.Sale.Entries[now.First].Plan.Name
	}
	return out
}

// planned is the JSON of lot i of those to come.
func (p *Plan) planned(i int) *plannedJSON {
	l := &p.Result.Lots[i]
	e := &p.Sale.Entries[l.Lot]
	out := &plannedJSON{
		Site:     e.Plan.Site,
		Car:      e.Result.Lot.Car(),
		OwnLimit: cents(e.Plan.Limit),
		Stop:     cents(l.Stop),
		Gain:     cents(l.Gain),
		Needs:    cents(l.Needs),
		Why:      whyJSON{string(l.Holds), cents(l.BayPrice), cents(l.MoneyPrice), p.names(l.Behind)},
		Stops:    [][]float64{},
		After:    []afterJSON{},
	}
	if at := e.Plan.Closes; !at.IsZero() {
		out.Closes = new(isoTime(at, e.Plan.DayOnly))
	}
	if l.Group >= 0 {
		out.Group = new(l.Group)
	}
	if l.Known {
		out.WinChance, out.BuyChance = new(share(l.WinChance)), new(share(l.BuyChance))
	}
	for _, row := range p.Result.Table.Stops[i] {
		out.Stops = append(out.Stops, rounded(row))
	}
	for _, a := range l.After {
		out.After = append(out.After, afterJSON{a.Bought, share(a.Chance), cents(a.Cash), cents(a.Stop)})
	}
	return out
}

// isoTime writes a closing time: 2026-03-04 14:05, its day alone, or 14:05 where nobody says the day.
func isoTime(at time.Time, dayOnly bool) string {
	switch {
	case dayOnly:
		return at.Format(time.DateOnly)
	case at.Year() <= 1:
		return at.Format("15:04")
	}
	return at.Format("2006-01-02 15:04")
}

// Records returns a row for each lot to come.
func (p *Plan) Records() *Records {
	r := &p.Result
	out := &Records{Columns: columnsOf("lot* site* car* closes group own_limit stop needs win_chance buy_chance gain " +
		"held " +
		"why_bay why_money why_lots*")}
	for a := range r.Sheet6.Levels {
		for _, what := range []string{"money", "bays", "stop"} {
			out.Columns = append(out.Columns, Field{Name: fmt.Sprintf("level_%d_%s", a+1, what)})
		}
	}
	most := -1
	for i := range r.Lots {
		for _, a := range r.Lots[i].After {
			most = max(most, a.Bought)
		}
	}
	for n := range most + 1 {
		out.Columns = append(out.Columns, Field{Name: fmt.Sprintf("bought_%d_money", n)},
			Field{Name: fmt.Sprintf("bought_%d_stop", n)})
	}
	for i := range r.Lots {
		out.Add(p.cells(i), p.planned(i))
	}
	return out
}

// cells are what a lot's flat row has beside its own figures: its lot, and its stops by money and bays.
func (p *Plan) cells(i int) map[string]any {
	r, x := &p.Result, p.planned(i)
	cells := map[string]any{"lot": p.Sale.Entries[r.Lots[i].Lot].Plan.Name, "held": x.Why.Held,
		"why_lots": joined(x.Why.Lots)}
	for a, level := range r.Sheet6.Levels {
		name := fmt.Sprintf("level_%d_", a+1)
		cells[name+"money"], cells[name+"bays"] = cents(level), r.Sheet6.Bays[a]
		cells[name+"stop"] = cents(r.Sheet6.Stops[i][a])
	}
	for _, a := range x.After {
		name := fmt.Sprintf("bought_%d_", a.Bought)
		cells[name+"money"], cells[name+"stop"] = a.Cash, a.Stop
	}
	return cells
}
