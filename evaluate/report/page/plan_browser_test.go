package page_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/browsertest"
	"wreckoner/evaluate/report/page"
	plansale "wreckoner/evaluate/sale"
	"wreckoner/evaluate/tabular"
)

// evening plans the first lots of the sample evening, all where most is 0.
func evening(t testing.TB, most int, res plan.Resources, together float64) *report.Plan {
	t.Helper()
	text, err := os.ReadFile("../../../samples/evening/sale.csv")
	if err != nil {
		t.Fatal(err)
	}
	workshop := starter(t)
	list := readLots(t, workshop, "sale.csv", string(text))
	if len(list.Problems) > 0 {
		t.Fatal(list.Problems)
	}
	if most > 0 {
		list.Lots = list.Lots[:most]
	}
	e, err := evaluate.New(workshop, evaluate.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	s, err := plansale.New(context.Background(), e, []*lots.List{list})
	if err != nil || len(s.Problems) > 0 {
		t.Fatal(err, s.Problems)
	}
	settings := plansale.Settings(workshop)
	settings.Seed, settings.Draws, settings.Together = 1, 512, together
	p := &report.Plan{Sale: s, Resources: res, Settings: settings, Shop: workshop, Seed: 1,
		Freeze: func(_ string, l *evaluate.Lot, hammer float64) string {
			return fmt.Sprintf("wreckoner freeze sale.csv %s --hammer %v -o lot-%s.json", l.Number, hammer, l.Number)
		}}
	if p.Plan, err = plan.New(s.Lots(), res, nil, settings); err != nil {
		t.Fatal(err)
	}
	p.Result = p.Plan.Work()
	return p
}

func planHTML(t testing.TB, p *report.Plan) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := page.Plan(&b, p, "sale.csv"); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// someday is a change on the day of the evening.
func someday(hour, bays int, cash float64) plan.Change {
	return plan.Change{On: time.Date(2026, 3, 4, hour, 0, 0, 0, time.UTC), Bays: bays, Cash: cash}
}

// A tally is what a test keeps of a sale beside the page, by the package's own sums.
type tally struct {
	p    *report.Plan
	sold map[int]plan.Sold // by place among the lots to come
	last int
}

// free returns what is free when lot i closes; where it closes with others, when the first does.
func (l *tally) free(i int) (bays int, cash float64) {
	r := &l.p.Result
	first := i
	if g := r.Lots[i].Group; g >= 0 {
		first = r.Groups[g].Lots[0] - r.Standing.First
	}
	bays, cash = r.Standing.Bays, r.Cash
	if cash == plan.NoLimit {
		cash = math.Inf(1) // no purchase changes it
	}
	for j := 0; j <= first; j++ {
		more, pence := l.p.Coming(j)
		bays, cash = bays+more, cash+float64(pence)/100
		if x, ok := l.sold[j]; ok && x.Won && j < first {
			bays, cash = max(0, bays-1), max(0, cash-l.tied(j, x.Hammer))
		}
	}
	return bays, cash
}

// tied is what a lot ties up, at a step.
func (l *tally) tied(i int, hammer float64) float64 {
	tied := l.p.Sale.Entries[l.p.Result.Lots[i].Lot].Plan.Tied
	j := int(math.Round(hammer/l.p.Settings.BidStep)) - 1
	if n := len(tied); j >= n {
		return tied[n-1] + float64(j-n+1)*(tied[n-1]-tied[n-2])
	}
	return tied[max(j, 0)]
}

func (l *tally) stop(i int) float64 {
	bays, cash := l.free(i)
	return l.p.Result.Table.Stop(i, bays, cash)
}

// next is the lot that the page must show: the next that is worth a bid.
func (l *tally) next() int {
	for i := l.last + 1; i < len(l.p.Result.Lots); i++ {
		if !l.p.Result.Lots[i].Never && l.stop(i) > 0 {
			return i
		}
	}
	return -1
}

const (
	shownLot  = `document.querySelector("#now .lotno b")?.textContent ?? ""`
	shownStop = `document.querySelector("#now .big")?.textContent ?? ""`
)

// All stops that the page shows are the table's.
func sameStops(t *testing.T, pg *browsertest.Page, l *tally) {
	t.Helper()
	type row struct{ Lot, Stop string }
	got := browsertest.Eval[[]row](
		t,
		pg,
		`[...document.querySelectorAll("#all button")].map(b => ({Lot: b.querySelector("b").textContent, Stop: b.querySelector(".s").textContent}))`,
	)
	for _, x := range got {
		i := slices.IndexFunc(l.p.Result.Lots, func(y plan.LotPlan) bool { return l.p.Name(y.Lot) == x.Lot })
		want := "don't bid"
		if !l.p.Result.Lots[i].Never {
			want = l.p.Stop(l.stop(i))
		}
		if x.Stop != want {
			bays, cash := l.free(i)
			t.Errorf("lot %s with %d bays and %.2f: the page says %s, the table %s", x.Lot, bays, cash, x.Stop, want)
		}
	}
}

// A whole evening by taps, on a phone: every stop that is shown is the table's, the money and
// the bays are right, and the results are what the command reads.
func TestASaleByTaps(t *testing.T) {
	b := browser(t)
	for name, x := range map[string]struct {
		res      plan.Resources
		together float64
	}{
		"one by one":           {plan.Resources{Bays: 3, Cash: 20000}, 0},
		"together, and growth": {plan.Resources{Bays: 2, Cash: 14000, Growth: []plan.Change{someday(19, 1, 5000)}}, 5},
		"no limit on bays":     {plan.Resources{Bays: plan.NoLimit, Cash: 16000}, 0},
		"no limit on money":    {plan.Resources{Bays: 3, Cash: plan.NoLimit}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			p := evening(t, 0, x.res, x.together)
			if x.res.Bays == plan.NoLimit {
				p.Result.Standing.Bays = p.Result.Bays // as many as can be used
			}
			body := planHTML(t, p)
			file := filepath.Join(t.TempDir(), "plan.html")
			if err := os.WriteFile(file, body, 0o644); err != nil {
				t.Fatal(err)
			}
			view := browsertest.View{Width: 390, Height: 844}
			pg := b.Open(t, file, view)
			l := &tally{p: p, sold: map[int]plan.Sold{}, last: -1}
			won := 0
			for n := 0; ; n++ {
				i := l.next()
				if i < 0 {
					break
				}
				sold := l.result(n, i)
				l.shows(t, pg, i)
				if n%4 == 0 {
					sameStops(t, pg, l)
				}
				tapResult(t, pg, sold)
				if n == 2 { // taken back, and tapped again
					pg.Tap(t, "#undo")
					l.shows(t, pg, i)
					tapResult(t, pg, sold)
				}
				if sold.Won {
					won++
				}
				l.sold[i], l.last = sold, i
				if n == 6 { // closed, and opened again
					pg = b.Open(t, file, view)
				}
			}
			if won == 0 {
				t.Fatal("nothing was bought")
			}
			checkResults(t, pg, l)
		})
	}
}

// result is what becomes of lot i at tap n: gone, gone with the price heard, or ours.
func (l *tally) result(n, i int) plan.Sold {
	sold := plan.Sold{Lot: l.p.Result.Lots[i].Lot}
	switch {
	case n%5 == 1:
		sold.Hammer, sold.Heard = l.stop(i)+125, true
	case n%3 == 2:
		sold.Hammer, sold.Heard, sold.Won = max(25, math.Floor(0.9*l.stop(i)/25)*25), true, true
	}
	return sold
}

// shows checks that the page shows lot i with the table's stop.
func (l *tally) shows(t *testing.T, pg *browsertest.Page, i int) {
	t.Helper()
	name := l.p.Name(l.p.Result.Lots[i].Lot)
	if got := browsertest.Eval[string](t, pg, shownLot); got != name {
		t.Fatalf("the page shows lot %q, not %s", got, name)
	}
	if got, want := browsertest.Eval[string](t, pg, shownStop), l.p.Stop(l.stop(i)); got != want {
		t.Errorf("lot %s: the page says %s, the table %s", name, got, want)
	}
}

// tapResult taps what became of the lot that is shown.
func tapResult(t *testing.T, pg *browsertest.Page, sold plan.Sold) {
	t.Helper()
	if sold.Heard {
		pg.Tap(t, "#price")
		pg.Press(t, fmt.Sprint(sold.Hammer))
	}
	if sold.Won {
		pg.Tap(t, "#mine")
	} else {
		pg.Tap(t, "#gone")
	}
}

// Results of lots that close together come in any order: none is passed over.
func TestLotsThatCloseTogetherInAnyOrder(t *testing.T) {
	b := browser(t)
	p := evening(t, 0, plan.Resources{Bays: 3, Cash: 20000}, 0)
	pg := b.Show(t, planHTML(t, p), browsertest.View{Width: 390, Height: 844})
	at := func(name string) int {
		return slices.IndexFunc(p.Result.Lots, func(l plan.LotPlan) bool { return p.Name(l.Lot) == name })
	}
	l := &tally{p: p, sold: map[int]plan.Sold{}, last: -1}
	for _, name := range []string{"114", "113"} {
		if l.stop(at(name)) == 0 {
			t.Fatalf("no bid on lot %s", name)
		}
	}
	pg.Tap(t, "#live details summary")
	pg.Tap(t, fmt.Sprintf("#all [data-lot=%q]", fmt.Sprint(at("114"))))
	l.shows(t, pg, at("114"))
	tapResult(t, pg, plan.Sold{Hammer: 900, Heard: true, Won: true})
	// The stop of 113 stays what it was when both bids went out.
	l.shows(t, pg, at("113"))
	tapResult(t, pg, plan.Sold{Hammer: 2000, Heard: true, Won: true})
	l.sold[at("114")] = plan.Sold{Hammer: 900, Heard: true, Won: true}
	l.sold[at("113")] = plan.Sold{Hammer: 2000, Heard: true, Won: true}
	l.last = at("114")
	l.shows(t, pg, l.next())
}

// left compares what is left by the page and by the command.
func (l *tally) left(t *testing.T, pg *browsertest.Page, now plan.Standing) {
	t.Helper()
	left := browsertest.Eval[string](t, pg, `document.querySelector("#money b")?.textContent ?? ""`)
	want := l.p.Sum(now.Cash)
	if now.Cash == plan.NoLimit {
		want = ""
	}
	if left != want {
		t.Errorf("the page has %s left, the command %s", left, want)
	}
	if l.p.Resources.Bays != plan.NoLimit {
		if bays := browsertest.Eval[string](
			t,
			pg,
			`document.querySelector("#bays b").textContent`,
		); bays != fmt.Sprint(
			now.Bays,
		) {
			t.Errorf("the page has %s bays left, the command %d", bays, now.Bays)
		}
	}
}

// checkResults reads the page's results as the command does, and compares what is left.
func checkResults(t *testing.T, pg *browsertest.Page, l *tally) {
	t.Helper()
	text := browsertest.Eval[string](t, pg, `document.querySelector("#file").value`)
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil || len(rows) != len(l.sold)+1 {
		t.Fatalf("%d results for %d taps, %v:\n%s", len(rows)-1, len(l.sold), err, text)
	}
	results, err := l.p.Sale.ReadSold(tabular.NewCSV("sold.csv", strings.NewReader(text)))
	if err != nil || len(results.Problems) > 0 {
		t.Fatal(err, results.Problems)
	}
	for _, x := range results.Sold {
		if l.sold[x.Lot] != x {
			t.Errorf("result %+v, tapped %+v", x, l.sold[x.Lot])
		}
	}
	again, err := plan.New(l.p.Sale.Lots(), l.p.Resources, results.Sold, l.p.Settings)
	if err != nil {
		t.Fatal(err)
	}
	l.left(t, pg, again.Standing)
	yours := browsertest.Eval[string](t, pg, `document.querySelector("#won").textContent`)
	for _, x := range results.Sold {
		if want := fmt.Sprintf(
			"freeze sale.csv %s --hammer %v -o",
			l.p.Name(x.Lot),
			x.Hammer,
		); x.Won &&
			!strings.Contains(yours, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, fault := range append(pg.Console(), pg.Requests()...) {
		t.Error(fault)
	}
}

// The page on a phone and at a desk: large enough, dark enough, reached by the keyboard.
func TestThePlanInABrowser(t *testing.T) {
	b := browser(t)
	p := evening(t, 24, plan.Resources{Bays: 3, Cash: 20000}, 5)
	body := planHTML(t, p)
	for view, v := range twoViews() {
		t.Run(view, func(t *testing.T) {
			pg := b.Show(t, body, v)
			pg.OpenDetails(t)
			faults := append(pg.Faults(t), pg.FaintText(t, 7)...)
			for _, f := range append(faults, pg.SmallTargets(t, 44)...) {
				t.Error(f)
			}
		})
	}
	// What one taps is under the thumb, and the stop can be read at arm's length.
	pg := b.Show(t, body, browsertest.View{Width: 390, Height: 844})
	if low := browsertest.Eval[float64](
		t,
		pg,
		`document.querySelector("#gone").getBoundingClientRect().bottom`,
	); low > 844 {
		t.Errorf("the buttons end at %.0f of 844 pixels", low)
	}
	if size := browsertest.Eval[float64](
		t,
		pg,
		`parseFloat(getComputedStyle(document.querySelector("#now .big")).fontSize)`,
	); size < 64 {
		t.Errorf("the stop is %.0f pixels high", size)
	}
}

// Where the browser keeps nothing, the page works and says so.
func TestWithoutStorage(t *testing.T) {
	b := browser(t)
	p := evening(t, 16, plan.Resources{Bays: 3, Cash: 20000}, 0)
	pg := b.Show(t, planHTML(t, p), browsertest.View{
		Width:  390,
		Height: 844,
		Before: `Object.defineProperty(window, "localStorage", { get() { throw new DOMException("denied", "SecurityError"); } })`,
	})
	first := browsertest.Eval[string](t, pg, shownLot)
	if said := browsertest.Eval[string](
		t,
		pg,
		`document.querySelector("#said").textContent`,
	); !strings.Contains(
		said,
		"keeps nothing",
	) {
		t.Errorf("the page says %q", said)
	}
	pg.Tap(t, "#gone")
	if said := browsertest.Eval[string](
		t,
		pg,
		`document.querySelector("#said").textContent`,
	); !strings.HasPrefix(
		said,
		"Lot "+first+": gone.",
	) {
		t.Errorf("the page says %q", said)
	}
	if next := browsertest.Eval[string](t, pg, shownLot); next == first || next == "" {
		t.Errorf("after %q comes %q", first, next)
	}
	pg.Tap(t, "#mine")
	if said := browsertest.Eval[string](
		t,
		pg,
		`document.querySelector("#said").textContent`,
	); !strings.Contains(
		said,
		"Type what you paid",
	) {
		t.Errorf("the page says %q", said)
	}
	pg.Tap(t, "#price")
	pg.Press(t, "12x")
	pg.Tap(t, "#mine")
	if said := browsertest.Eval[string](
		t,
		pg,
		`document.querySelector("#said").textContent`,
	); !strings.Contains(
		said,
		"not a price",
	) {
		t.Errorf("the page says %q", said)
	}
	for _, fault := range pg.Console() {
		t.Error(fault)
	}
}

// What a list says is text, and nothing else, on the page too.
func TestAHostilePlan(t *testing.T) {
	b := browser(t)
	p := evening(t, 16, plan.Resources{Bays: 3, Cash: 20000}, 5)
	for i := range p.Sale.Entries {
		lot := p.Sale.Entries[i].Result.Lot
		lot.Make, lot.PayBy, lot.CollectBy = hostile[i%len(hostile)], hostile[(i+1)%len(hostile)], hostile[(i+2)%len(hostile)]
	}
	p.Sale.Entries[0].Plan.Name = "</script><script>document.title='owned'</script>"
	pg := b.Show(t, planHTML(t, p), browsertest.View{Width: 390, Height: 844})
	pg.Tap(t, "#price")
	pg.Press(t, "900")
	pg.Tap(t, "#mine")
	pg.OpenDetails(t)
	faults := append(pg.Faults(t), pg.SmallTargets(t, 44)...)
	for _, f := range faults {
		t.Error(f)
	}
	if title := browsertest.Eval[string](t, pg, "document.title"); title == "owned" {
		t.Error("a text of the list ran as a script")
	}
}

// On paper: A4 upright, nothing cut, boxes to write in, black on white.
func TestThePlanOnPaper(t *testing.T) {
	b := browser(t)
	p := evening(t, 0, plan.Resources{Bays: 3, Cash: 20000}, 5)
	pg := b.Show(t, planHTML(t, p), browsertest.View{Width: 718, Print: true})
	n, err := browsertest.Pages(pg.PDF(t))
	if most := (len(p.Shown())+19)/20 + 1; err != nil || n < 1 || n > most {
		t.Errorf("%d lots print to %d pages, %v", len(p.Shown()), n, err)
	}
	for what, script := range map[string]string{
		"reaches out of its cell": `[...document.querySelectorAll(".paper td,.paper th")].filter(e => e.checkVisibility() && e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)`,
		"is cut":                  `[...document.querySelectorAll(".paper tbody th div")].filter(e => e.scrollHeight > e.clientHeight + 1).map(e => e.textContent)`,
		"is not black":            `[...document.querySelectorAll(".paper *")].filter(e => e.checkVisibility() && e.textContent.trim() && !["rgb(0, 0, 0)", "rgb(51, 51, 51)"].includes(getComputedStyle(e).color)).map(e => e.textContent)`,
		"is too small a box":      `[...document.querySelectorAll(".paper td.box")].filter(e => e.getBoundingClientRect().height < 38 || e.getBoundingClientRect().width < 24).map(e => String(e.getBoundingClientRect().width))`,
		"is shown":                `[...document.querySelectorAll("#live,.top,.words")].filter(e => e.checkVisibility()).map(e => e.className)`,
	} {
		for _, text := range list(t, pg, script) {
			t.Errorf("%q %s", text, what)
		}
	}
	if cols := browsertest.Eval[int](
		t,
		pg,
		`document.querySelectorAll(".paper tbody tr:first-child .n").length`,
	); cols != 8 {
		t.Errorf("%d levels of money", cols)
	}
}

// The page of a hundred lots stays small.
func TestTheSizeOfAPlan(t *testing.T) {
	p := evening(t, 0, plan.Resources{Bays: 6, Cash: 40000}, 0)
	size := len(planHTML(t, p))
	if size*100/len(p.Result.Lots) > 400_000 {
		t.Errorf("%d bytes for %d lots", size, len(p.Result.Lots))
	}
	t.Logf("%d bytes for %d lots", size, len(p.Result.Lots))
}
