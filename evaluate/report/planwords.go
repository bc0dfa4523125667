package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// Sum writes an amount in whole pounds with its sign: "£16,150".
func (p *Plan) Sum(x float64) string {
	return draw.Money(p.Shop.Currency).Value(math.Round(x))
}

// about writes an amount to the nearest ten pounds: the digits below are noise.
func (p *Plan) about(x float64) string { return p.Sum(money.Tens(x)) }

// Stop writes a price to stop at.
func (p *Plan) Stop(x float64) string {
	if x <= 0 {
		return "don't bid"
	}
	if x != math.Round(x) {
		f := draw.Money(p.Shop.Currency)
		f.Decimals = 2
		return f.Value(x)
	}
	return p.Sum(x)
}

// Share writes a chance to the whole percent.
func Share(x float64) string { return Percent(x) }

// Win writes the chance to win a lot at its stop.
func Win(l *plan.LotPlan) string {
	switch {
	case !l.Known:
		return "not known"
	case l.Stop <= 0:
		return "-"
	}
	return Share(l.WinChance)
}

// Title says what is planned with what.
func (p *Plan) Title() string {
	n := tabular.Count(len(p.Result.Lots), "lot")
	switch {
	case p.Result.Standing.First > 0 && len(p.Result.Lots) == 0:
		return "The sale is over: " + p.means() + " left"
	case p.Result.Standing.First > 0:
		n = "the " + n + " to come"
	}
	return fmt.Sprintf("Plan for %s: %s", n, p.means())
}

// means says what there is: "4 free bays, £25,000 to tie up".
func (p *Plan) means() string {
	bays, cash := "bays without limit", "money without limit"
	if p.Resources.Bays != plan.NoLimit {
		bays = tabular.Count(p.Result.Standing.Bays, "free bay")
	}
	if p.Result.Cash != plan.NoLimit {
		cash = p.Sum(p.Result.Cash) + " to tie up"
	}
	text := bays + ", " + cash
	for _, c := range p.Resources.Growth {
		var more []string
		if c.Bays > 0 {
			more = append(more, tabular.Count(c.Bays, "bay"))
		}
		if c.Cash > 0 {
			more = append(more, p.Sum(c.Cash))
		}
		text += fmt.Sprintf("; %s more from %s", strings.Join(more, " and "), dayOf(c.On))
	}
	return text
}

func dayOf(at time.Time) string {
	if at.Hour() == 0 && at.Minute() == 0 {
		return at.Format(time.DateOnly)
	}
	return at.Format("2006-01-02 15:04")
}

// Expect says what the sale brings, a paragraph each.
func (p *Plan) Expect() []string {
	r := &p.Result
	if r.Facts.NoBid.Reason != plan.SomethingToBid {
		return p.noBid()
	}
	cars := Tenths(r.Cars) + " cars"
	if cars == "1 cars" {
		cars = "1 car"
	}
	text := fmt.Sprintf(
		"On average it makes %s from %s, with %s tied up. Likely range: %s to %s.",
		p.about(r.Gain),
		cars,
		p.about(r.Tied),
		p.about(r.P10),
		p.about(r.P90),
	)
	if r.LossChance > 0 {
		text += fmt.Sprintf(" %s of such sales lose money.", Share(r.LossChance))
	}
	out := []string{text}
	if r.Facts.LikelyNothing {
		out = append(out, fmt.Sprintf("Most likely you come home with nothing (%.0f in 10).", 10*r.NoneChance))
	}
	if r.Facts.NotScarce {
		out = append(out, "Money and bays are not scarce in this sale: bid each lot to its own limit.")
	} else {
		out = append(out, p.scarce())
	}
	if r.MoneyShort != nil && *r.MoneyShort > 0 {
		out = append(
			out,
			fmt.Sprintf(
				"In %s of such sales the money runs short, as repairs cost more than what is held back for them.",
				Share(*r.MoneyShort),
			),
		)
	}
	return append(out, p.learned()...)
}

// orNothing writes what something would add.
func (p *Plan) orNothing(x float64) string {
	if x < 5 {
		return "nothing"
	}
	return "about " + p.about(x)
}

// scarce says what more money or another bay would add, and what simpler rules make.
func (p *Plan) scarce() string {
	r := &p.Result
	var more []string
	if r.Cash != plan.NoLimit {
		more = append(more, fmt.Sprintf("%s more to spend would add %s", p.Sum(1000), p.orNothing(r.ThousandMore)))
	}
	if p.Resources.Bays != plan.NoLimit {
		more = append(more, fmt.Sprintf("one more bay %s", p.orNothing(r.BayMore)))
	}
	text := ""
	if len(more) > 0 {
		text = capital(strings.Join(more, ", ")) + ". "
	}
	return text + fmt.Sprintf("Each lot to its own limit, while money and bays last, would make %s.", p.about(r.OwnLimits))
}

// learned says what prices so far have taught.
func (p *Plan) learned() []string {
	now := &p.Result.Standing
	if now.Heard == 0 || p.Settings.PriceLink == 0 {
		return nil
	}
	how := "about as its guides say"
	switch z := now.Common.Mean; {
	case z > 1:
		how = "much dearer than its guides"
	case z > 0.3:
		how = "dearer than its guides"
	case z < -1:
		how = "much cheaper than its guides"
	case z < -0.3:
		how = "cheaper than its guides"
	}
	return []string{
		fmt.Sprintf("By %s heard so far the sale runs %s; the stops count on that.", tabular.Count(now.Heard, "price"), how),
	}
}

func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

// noBid says why there is nothing to bid on.
func (p *Plan) noBid() []string {
	n := &p.Result.Facts.NoBid
	text := "Don't bid in this sale. "
	switch n.Reason {
	case plan.NoLots:
		if p.Result.Standing.First > 0 {
			return []string{"All lots have closed."}
		}
		if len(p.Rejected) > 0 {
			// That is no advice: what the lots are worth is not known.
			return []string{"No lot could be planned. The messages say what to put right."}
		}
		return []string{text + "The list has no lot to plan."}
	case plan.CashTooShort:
		return []string{
			text + fmt.Sprintf(
				"%s does not reach the cheapest first bid: lot %s needs %s.",
				p.Sum(p.Result.Cash),
				p.Name(n.Cheapest),
				p.Sum(n.Needs),
			),
		}
	case plan.NoBays:
		return []string{text + "No bay is free, and none becomes free."}
	case plan.WorthMore:
		return []string{
			text + "A free bay and the money are worth more to you after the sale than any lot here: " +
				"see bay_value and money_value.",
		}
	}
	held := map[plan.Held]int{}
	rest := 0
	for h, k := range n.Held {
		if h == plan.HeldByNothing {
			rest += k
		} else {
			held[h] += k
		}
	}
	text += fmt.Sprintf(
		"No lot is worth its lowest bid: %d held by risk, %d by target",
		held[plan.HeldByRisk],
		held[plan.HeldByTarget],
	)
	if k := held[plan.HeldByCash]; k > 0 {
		text += fmt.Sprintf(", %d by cash", k)
	}
	if rest > 0 {
		text += fmt.Sprintf(", %d not coded or not for the road", rest)
	}
	out := []string{text + "."}
	if len(n.Nearest) > 0 {
		var near []string
		for _, i := range n.Nearest {
			l := &p.Sale.Entries[i].Plan
			near = append(near, fmt.Sprintf("lot %s breaks even at %s, guide %s", p.Name(i), p.Sum(l.BreakEven), p.Sum(l.Guide)))
		}
		out = append(out, "Nearest: "+strings.Join(near, "; ")+".")
	}
	return out
}

// Why says what holds a lot's stop where it is.
func (p *Plan) Why(l *plan.LotPlan) string {
	in := ""
	if names := p.names(l.Behind); len(names) > 0 {
		in = " in " + joined(CleanAll(names))
	}
	switch {
	case l.Holds == plan.HeldByLimit:
		if h := p.Sale.Entries[l.Lot].Plan.Held; h != plan.HeldByNothing {
			return "its own limit, held by " + string(h)
		}
		return "its own limit"
	case l.Holds == plan.HeldByBay && l.Stop > 0:
		return "the bay earns more" + in
	case l.Holds == plan.HeldByMoney && l.Stop > 0:
		return "the money earns more" + in
	}
	return "bay and money earn more" + in
}

func joined(names []string) string { return strings.Join(names, ", ") }

// Groups says how the lots that close together are bid on, a line for each group in which there
// is a bid.
func (p *Plan) Groups() []string {
	var out []string
	for i := range p.Result.Groups {
		if g := &p.Result.Groups[i]; slices.Max(g.Stops) > 0 {
			out = append(out, p.Together(g))
		}
	}
	return out
}

// Together says how a group of lots that close together is bid on.
func (p *Plan) Together(g *plan.Group) string {
	var on, off []string
	for a, i := range g.Lots {
		if g.Stops[a] > 0 {
			on = append(on, fmt.Sprintf("%s up to %s", p.Name(i), p.Stop(g.Stops[a])))
		} else {
			off = append(off, p.Name(i))
		}
	}
	text := fmt.Sprintf("Lots %s close together: ", joined(CleanAll(p.names(g.Lots))))
	switch {
	case len(on) == 0:
		return text + "bid on none of them."
	case len(off) == 0:
		text += "bid on " + strings.Join(on, ", ")
	default:
		text += "bid on " + strings.Join(on, ", ") + ", don't bid on " + joined(CleanAll(off))
	}
	return text + fmt.Sprintf("; %s is spoken for until all are known.", p.Sum(g.SpokenFor))
}

// SheetWords say how the sheet is read.
const SheetWords = "Take the column nearest to your money. Never bid where needs is more than you have. " +
	"A stop may be lower with more money: then a better car is in reach."

// Asides are lots that the sheet leaves out, a line each.
func (p *Plan) Asides() []string {
	var never, hardly []string
	for i := range p.Result.Lots {
		switch l := &p.Result.Lots[i]; {
		case l.Never:
			never = append(never, p.Name(l.Lot))
		case p.rare(i):
			hardly = append(hardly, p.Name(l.Lot)+" up to "+p.Stop(l.Stop))
		}
	}
	var out []string
	if len(never) > 0 {
		out = append(out, "Don't bid, whatever is left: "+strings.Join(never, ", ")+".")
	}
	if len(hardly) > 0 {
		out = append(out, "Hardly ever so cheap (under 1 in 100): "+strings.Join(hardly, ", ")+".")
	}
	return out
}

// rare reports whether a lot is hardly ever so cheap, and closes with no others.
func (p *Plan) rare(i int) bool { return p.Result.Lots[i].Hardly && p.Result.Lots[i].Group < 0 }

// Shown are the lots to come that the sheet shows, by their place among these.
func (p *Plan) Shown() []int {
	var out []int
	for i := range p.Result.Lots {
		if !p.Result.Lots[i].Never && !p.rare(i) {
			out = append(out, i)
		}
	}
	return out
}

// A Bought is a lot that was won, and what to do now.
type Bought struct {
	Lot    *evaluate.Lot
	Name   string
	Car    string
	Hammer string
	Todo   []string
	Freeze string
}

// Won are the lots that were won, in closing order.
func (p *Plan) Won() []Bought {
	sold := slices.Clone(p.Sold)
	slices.SortFunc(sold, func(a, b plan.Sold) int { return a.Lot - b.Lot })
	var out []Bought
	for _, x := range sold {
		if x.Won {
			out = append(out, p.bought(x.Lot, x.Hammer))
		}
	}
	return out
}

func (p *Plan) bought(i int, hammer float64) Bought {
	lot := p.Lot(i)
	b := Bought{Lot: lot, Name: p.Name(i), Car: p.Car(i), Hammer: p.Stop(hammer), Todo: Todo(lot)}
	if p.Freeze != nil {
		b.Freeze = p.Freeze(p.Sale.Entries[i].Plan.Name, lot, hammer)
	}
	return b
}

// Todo says by when a lot that was won has to be paid and collected.
func Todo(lot *evaluate.Lot) []string {
	if lot.PayBy == "" && lot.CollectBy == "" {
		return []string{"by when to pay and collect, the list does not say: ask the site today"}
	}
	pay := "by when to pay, the list does not say: ask the site today"
	collect := "by when to collect, the list does not say: ask the site today"
	if lot.PayBy != "" {
		pay = "pay by " + Clean(lot.PayBy)
	}
	if lot.CollectBy != "" {
		collect = "collect by " + Clean(lot.CollectBy)
	}
	return []string{pay, collect}
}
