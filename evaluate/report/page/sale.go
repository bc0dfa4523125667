package page

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// DefaultPanels is how many lots a sale page draws charts of.
const DefaultPanels = 50

// A Sale is an evaluated list as a page.
type Sale struct {
	*report.Screen
	// Evaluator judged the list.
	Evaluator *evaluate.Evaluator
	// List names the list.
	List string
	// Panels bounds the lots with charts, the best ones. The others say the same in
	// words and tables, less the curves and the walk. Zero means DefaultPanels.
	Panels int
}

// HTML writes the page. It fails where a lot cannot be looked at again or the
// context ends.
func (s *Sale) HTML(ctx context.Context, w io.Writer) error {
	v, err := s.view(ctx)
	if err != nil {
		return err
	}
	return write(w, "sale", v)
}

// saleView is what the template shows.
type saleView struct {
	frame
	Currency         string
	Ranked, Unpriced []*lotView
	Aside            []asideView
	Left             string // counts the lots that are not shown
	Threshold        string // what is said of the VAT threshold
	Drawn, Evaluated int
	Axis, RepairAxis template.HTML
	Categories       []string
	Verdicts         []string
	Sheets           []sheetView
	SheetLots        int
	Prefix           string // stands before an amount
	Bad              string
	Notices          []string
	Regulated        []string
}

type asideView struct{ Number, Car, Category, Verdict, Why, Said string }

// lotView is one lot: its row and its panel.
type lotView struct {
	result *evaluate.Result
	order  int

	ID, Rank, Number, Car, Category, Verdict, VerdictClass string
	// Place is the site, the day and the odometer.
	Place                                    string
	Cell                                     template.HTML
	Margin, MarginSpan, Loss, Guide          string
	Repair, RepairSpan, Stop, Limit, OfValue string
	// Merit is what the lots are ordered by, in words; "" where a column has it.
	Merit string
	// For sorting, as the JSON has them; "" where there is none.
	NumMargin, NumLoss, NumRepair, NumStop string
	Panel                                  *panel
	sheet                                  *sheetRow
}

var verdictClasses = map[bid.Verdict]string{
	bid.GoAfter: "go", bid.IfCheap: "cheap", bid.LongShot: "long", bid.NoGuide: "bid", bid.DontBid: "leave",
}

func (s *Sale) view(ctx context.Context) (*saleView, error) {
	f := figuresIn(s.Shop.Currency)
	v := &saleView{Currency: report.Clean(s.Shop.Currency), Notices: report.CleanAll(s.Notices)}
	results := s.shown(v)
	var lots []*lotView
	for _, r := range results {
		if !r.Evaluated() {
			v.Aside = append(v.Aside, asideView{report.Clean(r.Lot.Number), report.CarWords(r), report.Clean(r.Lot.Category),
				string(r.Verdict()), report.Clean(r.Reason), report.Clean(r.Lot.Description)})
			continue
		}
		l := rowOf(r, f)
		l.Merit = s.Merit(r)
		lots = append(lots, l)
		if r.Status == bid.Ranked {
			v.Ranked = append(v.Ranked, l)
		} else {
			v.Unpriced = append(v.Unpriced, l)
		}
	}
	if err := s.cells(v, f); err != nil {
		return nil, err
	}
	if err := s.panels(ctx, v, lots, f); err != nil {
		return nil, err
	}
	s.sheets(v, lots, f)
	v.Threshold = s.Threshold()
	s.say(v, results)
	return v, nil
}

// shown returns the results that the page shows, and counts the others.
func (s *Sale) shown(v *saleView) []*evaluate.Result {
	if s.Top <= 0 {
		return s.Results
	}
	out := s.Shown()
	v.Left = s.Rest(out)
	return out
}

// placeOf says where and when a lot is sold and what its odometer reads, as far as the list says.
func placeOf(l *evaluate.Lot) string {
	var out []string
	if place := report.PlaceWords(l); place != "" {
		out = append(out, place)
	}
	if l.Odometer > 0 {
		out = append(out, money.Group(int64(l.Odometer))+" miles")
	}
	return strings.Join(out, ", ")
}

func rowOf(r *evaluate.Result, f figures) *lotView {
	l := &lotView{
		result: r, Number: report.Clean(r.Lot.Number), Car: report.CarWords(r), Category: report.Clean(r.Lot.Category),
		Verdict: string(r.Verdict()), VerdictClass: verdictClasses[r.Verdict()],
		Repair: f.about(r.Repair.Mean), RepairSpan: f.span(r.Repair.P10, r.Repair.P90), NumRepair: number(r.Repair.Mean),
		Place: placeOf(r.Lot),
		Stop:  f.exact(r.HighestBid), NumStop: number(r.HighestBid.Pounds()), Limit: report.LimitWords(r),
		OfValue: percent(float64(r.HighestBid) / float64(r.Value)), Guide: "no guide",
	}
	if r.HighestBid == 0 {
		l.Stop = report.DontBid
	}
	if r.Status == bid.Ranked {
		l.Rank, l.Guide = fmt.Sprint(r.Rank), f.exact(r.At)
		l.Margin, l.MarginSpan, l.Loss = f.about(r.Margin.Mean), f.span(r.Margin.P10,
			r.Margin.P90), percent(r.Margin.LossChance)
		l.NumMargin, l.NumLoss = number(r.Margin.Mean), share(r.Margin.LossChance)
	}
	return l
}

// cells draws the interval of every row on one axis: what most lots span. The few
// that reach beyond it end in an arrow.
func (s *Sale) cells(v *saleView, f figures) error {
	draws := func(lots []*lotView, title string, zero bool, interval func(*evaluate.Result) draw.Interval,
		middle string) (template.HTML, error) {
		if len(lots) == 0 {
			return "", nil
		}
		var lows, highs []float64
		for _, l := range lots {
			i := interval(l.result)
			lows, highs = append(lows, i.Low), append(highs, i.High)
		}
		slices.Sort(lows)
		slices.Sort(highs)
		scale, err := draw.Snug(7, lows[len(lows)/4], highs[len(highs)-1-len(highs)/20], 0)
		if err != nil {
			return "", err
		}
		for _, l := range lots {
			i := interval(l.result)
			i.Label = title
			if l.Cell, err = (draw.Cell{Row: i, Scale: scale, Format: f.format, Zero: zero, Middle: middle}).SVG(); err != nil {
				return "", err
			}
		}
		return draw.CellAxis{Title: title + ", the axis of the bars", Scale: scale, Format: f.format}.SVG()
	}
	var err error
	if v.Axis, err = draws(v.Ranked, "Margin at the guide price", true, func(r *evaluate.Result) draw.Interval {
		return draw.Interval{Low: r.Margin.P10, Mid: r.Margin.Mean, High: r.Margin.P90}
	}, "average"); err != nil {
		return err
	}
	v.RepairAxis, err = draws(v.Unpriced, "Repair", false, func(r *evaluate.Result) draw.Interval {
		return draw.Interval{Low: r.Repair.P10, Mid: r.Repair.P50, High: r.Repair.P90}
	}, "likely")
	return err
}

// panels looks at every lot again, several at once, each into its own place.
func (s *Sale) panels(ctx context.Context, v *saleView, lots []*lotView, f figures) error {
	most := s.Panels
	if most <= 0 {
		most = DefaultPanels
	}
	best := slices.Clone(lots)
	slices.SortStableFunc(best, func(a, b *lotView) int {
		worth := func(l *lotView) int { return min(1, int(l.result.HighestBid)) }
		return cmp.Compare(worth(b), worth(a))
	})
	v.Evaluated, v.Drawn = len(lots), min(most, len(lots))
	charted := map[*lotView]bool{}
	for i, l := range best {
		charted[l] = i < most
	}
	errs := make([]error, len(lots))
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(s.Evaluator.Options().Workers, len(lots)) {
		wait.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= len(lots) {
					return
				}
				lots[i].ID = fmt.Sprintf("l%d", i+1)
				errs[i] = lots[i].look(s.Evaluator, f, charted[lots[i]])
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("lot %s: %w", lots[i].Number, err)
		}
	}
	byLine := slices.Clone(lots)
	slices.SortStableFunc(byLine, func(a, b *lotView) int { return cmp.Compare(a.result.Lot.Line, b.result.Lot.Line) })
	for i, l := range byLine {
		l.order = i + 1
	}
	return nil
}

// SheetSize is how many lots a page of the bid sheet holds, for the script.
func (*saleView) SheetSize() int { return sheetSize }

// DrawnWords says which lots have charts, where not all do.
func (v *saleView) DrawnWords() string {
	if v.Drawn == v.Evaluated {
		return ""
	}
	return fmt.Sprintf("Charts, workings and the ticks for what you find at the car are there for the best %d of %d "+
		"lots. "+
		"For any other, run wreckoner screen --explain LOT, or wreckoner probe --html FILE.", v.Drawn, v.Evaluated)
}

// Pay is what is paid on the day at the price to stop at, with fees and transport; blank where
// nothing is worth a bid.
func (l *lotView) Pay() string {
	if l.result.HighestBid == 0 || l.sheet == nil {
		return ""
	}
	return l.sheet.Pay
}

// Coded is the damage code.
func (l *lotView) Coded() string { return l.result.Lot.Code.String() }

// Order is the lot's place in the list, from 1.
func (l *lotView) Order() int { return l.order }

func (s *Sale) say(v *saleView, results []*evaluate.Result) {
	counts := map[bid.Status]int{}
	classes := [damage.ClassCount]bool{}
	for _, r := range results {
		counts[r.Status]++
		for _, m := range r.Lot.Code.Marks() {
			classes[m.Class] = classes[m.Class] || m.State != damage.Absent
		}
		if name := report.Clean(r.Lot.Category); r.Evaluated() && !slices.Contains(v.Categories, name) {
			v.Categories = append(v.Categories, name)
		}
		if name := string(r.Verdict()); r.Evaluated() && !slices.Contains(v.Verdicts, name) {
			v.Verdicts = append(v.Verdicts, name)
		}
	}
	slices.Sort(v.Categories)
	v.Regulated = cautions(classes)
	if s.Shop.SellOn != nil || slices.ContainsFunc(results,
		func(r *evaluate.Result) bool { return r.Lot.PartsValue != nil }) {
		v.Regulated = append(v.Regulated, "Sold on or broken: "+deal.StopCaution+".")
	}
	var lead []string
	for _, x := range []struct {
		status bid.Status
		words  string
	}{{bid.Ranked, "ranked"}, {bid.Unpriced, "without a guide price"}, {bid.Excluded, "not for rebuilding"}, {bid.Uncoded,
		"not coded"}} {
		if n := counts[x.status]; n > 0 {
			lead = append(lead, fmt.Sprintf("%s %s", money.Group(int64(n)), x.words))
		}
	}
	if len(lead) == 0 {
		lead = []string{s.Nothing()}
	}
	v.frame = frame{Kind: "Sale", Title: either(s.List, "a lot list"), Lead: strings.Join(lead, ", ") + ".",
		Made: fmt.Sprintf("Workshop: %s. %s.", report.ShopWords(s.Shop, s.Folder), report.Drawn(s.Points, s.Seed))}
	if n := s.Unread(); n > 0 {
		v.Bad = tabular.Count(n, "row") + " of the list could not be read and " + map[bool]string{true: "is",
			false: "are"}[n == 1] + " left out. The messages of the command say why."
	}
}
