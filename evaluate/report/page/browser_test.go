package page_test

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report/browsertest"
	"wreckoner/evaluate/report/page"
)

func browser(t *testing.T) *browsertest.Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("a browser takes its time")
	}
	return browsertest.Start(t)
}

// twoViews are dark on a phone, and light on a desk: each width and each scheme once.
func twoViews() map[string]browsertest.View {
	views := browsertest.Views()
	maps.DeleteFunc(views, func(view string, _ browsertest.View) bool { return view == "phone light" || view == "desk dark" })
	return views
}

// small is a sale of a dozen lots, four with charts: ranked and unpriced, one set
// aside, one with bags, one undamaged.
func small(t *testing.T) *page.Sale {
	shop := starter(t)
	list := sample(t, shop, 13)
	s := sale(t, shop, list)
	s.Panels = 4
	return s
}

// Every page, opened up: dark on a phone, light on a desk.
func TestPagesInABrowser(t *testing.T) {
	b := browser(t)
	rf, history := halfway(t)
	var probed, going, done bytes.Buffer
	for _, err := range []error{page.Probe(&probed, probes(t, easy())), page.Reforecast(&going, rf, history),
		page.Review(&done, finished(t, "1", "7", "9"))} {
		if err != nil {
			t.Fatal(err)
		}
	}
	hostiles := hostileSale(t, func(i int) string { return hostile[i] }, hostile[1])
	hostiles.Panels = 3
	for name, body := range map[string][]byte{"sale": html(t, small(t)), "hostile sale": html(t, hostiles),
		"probe": probed.Bytes(), "reforecast": going.Bytes(), "review": done.Bytes()} {
		for view, v := range twoViews() {
			t.Run(name+" "+view, func(t *testing.T) {
				p := b.Show(t, body, v)
				p.OpenDetails(t)
				for _, f := range p.Faults(t) {
					t.Error(f)
				}
				if title := browsertest.Eval[string](t, p, "document.title"); title == "owned" {
					t.Error("a text of the list ran as a script")
				}
				if n := browsertest.Eval[int](t, p, `document.querySelectorAll("script").length`); n != 1 {
					t.Errorf("%d scripts", n)
				}
			})
		}
	}
}

// A reader who cannot see the pictures is told their numbers.
func TestWhatAReaderIsToldOfALot(t *testing.T) {
	b := browser(t)
	s := small(t)
	p := b.Show(t, html(t, s), browsertest.View{})
	browsertest.Eval[bool](t, p, `document.querySelector("details.lot").open = true`)
	best := s.Results[0]
	want := map[string]string{
		"Margin at the guide price":                 "average £",
		"Repair money by zone":                      "cosmetic £",
		"Chance that the repair stays under a cost": fmt.Sprintf("8 in 10: £%s gives 80%%", comma(best.Repair.P80)),
		"Margin along the hammer price":             "stop at: £" + comma(best.HighestBid.Pounds()),
		"Chance of a loss along the hammer price":   "1 in 10: £",
		"From the hammer price to the margin":       "margin: £" + comma(best.Margin.Mean),
	}
	told := p.Pictures(t)
	for name, words := range want {
		if !slices.ContainsFunc(told, func(x browsertest.Picture) bool {
			return x.Name == name &&
				strings.Contains(x.Description, words)
		}) {
			t.Errorf("no picture %q tells %q", name, words)
			for _, x := range told {
				if x.Name == name {
					t.Log(x.Description)
				}
			}
		}
	}
}

func comma(x float64) string {
	text := fmt.Sprintf("%.0f", x)
	if n := len(text); n > 3 {
		text = text[:n-3] + "," + text[n-3:]
	}
	return text
}

// set fills in a field as a person does.
func set(t *testing.T, p *browsertest.Page, name, value string) {
	t.Helper()
	browsertest.Eval[bool](t, p,
		fmt.Sprintf(`(() => { const e = document.querySelector("form.tools").elements.namedItem(%q); e.value = %q; return e.dispatchEvent(new Event("input", {bubbles: true})) })()`, name, value))
}

func list(t *testing.T, p *browsertest.Page, expression string) []string {
	t.Helper()
	return browsertest.Eval[[]string](t, p, expression)
}

const (
	rankedLots = `[...document.querySelectorAll("#ranked details.lot")].filter(e => !e.hidden).map(e => e.querySelector(".no bdi").textContent)`
	allLots    = `[...document.querySelectorAll("details.lot")].filter(e => !e.hidden).map(e => e.querySelector(".no bdi").textContent)`
	sheetLots  = `[...document.querySelectorAll(".sheet:not([hidden]) tbody tr")].map(e => e.querySelector("bdi").textContent)`
)

func TestSortingAndFiltering(t *testing.T) {
	b := browser(t)
	every, _ := whole(t)
	s := *every
	s.Panels = 1
	p := b.Show(t, html(t, &s), browsertest.View{})
	all := list(t, p, allLots)
	if len(all) != 67 {
		t.Fatalf("%d lots", len(all))
	}
	values := func(attribute string) []float64 {
		return browsertest.Eval[[]float64](t, p,
			fmt.Sprintf(`[...document.querySelectorAll("#ranked details.lot")].filter(e => !e.hidden).map(e => Number(e.dataset.%s))`, attribute))
	}
	for by, rising := range map[string]bool{"-bid": false, "-margin": false, "loss": true, "repair": true, "order": true} {
		set(t, p, "sort", by)
		got := values(strings.TrimPrefix(by, "-"))
		if !rising {
			slices.Reverse(got)
		}
		if !slices.IsSorted(got) {
			t.Errorf("sorted by %s: %v", by, got)
		}
	}
	set(t, p, "sort", "")
	if got := list(t, p, allLots); !slices.Equal(got, all) {
		t.Errorf("the rank does not come back: %v", got)
	}

	set(t, p, "category", "S")
	set(t, p, "least", "1000")
	set(t, p, "most", "9000")
	var want []string
	for _, r := range s.Results {
		if r.Evaluated() && r.Lot.Category == "S" && r.HighestBid >= 100000 && r.HighestBid <= 900000 {
			want = append(want, r.Lot.Number)
		}
	}
	got := list(t, p, allLots)
	if len(want) == 0 || !slices.Equal(got, want) {
		t.Errorf("filtered: %v, want %v", got, want)
	}
	// The sheet keeps to them, in the order of the list.
	onSheet := list(t, p, sheetLots)
	slices.Sort(want)
	sorted := slices.Sorted(slices.Values(onSheet))
	if !slices.Equal(sorted, want) {
		t.Errorf("the sheet has %v, want %v", onSheet, want)
	}
	if words := browsertest.Eval[string](t, p,
		`document.querySelector(".filter output").textContent`); words != fmt.Sprintf("%d of 67 lots", len(want)) {
		t.Errorf("the page says %q", words)
	}
	if n, err := browsertest.Pages(p.PDF(t)); err != nil || n != 1 {
		t.Errorf("the filtered sheet prints to %d pages, %v", n, err)
	}

	set(t, p, "category", "")
	set(t, p, "least", "")
	set(t, p, "most", "")
	set(t, p, "verdict", "go after")
	for _, n := range list(t, p, allLots) {
		i := slices.IndexFunc(s.Results, func(r *evaluate.Result) bool { return r.Lot.Number == n })
		if string(s.Results[i].Verdict()) != "go after" {
			t.Errorf("lot %s is %s", n, s.Results[i].Verdict())
		}
	}
	browsertest.Eval[bool](t, p, `(document.querySelector("form.tools button").click(), true)`)
	time.Sleep(100 * time.Millisecond) // the form is cleared after the click
	if got := list(t, p, allLots); !slices.Equal(got, all) {
		t.Errorf("show all shows %d lots", len(got))
	}
	// The keyboard opens a lot, and a link from the sheet does.
	browsertest.Eval[bool](t, p, `(document.querySelector("details.lot summary").focus(), true)`)
	p.Press(t, "\r")
	if !browsertest.Eval[bool](t, p, `document.querySelector("details.lot").open`) {
		t.Error("the return key does not open a lot")
	}
	browsertest.Eval[bool](t, p, `(document.querySelector(".sheet tbody a").click(), true)`)
	time.Sleep(100 * time.Millisecond)
	if !browsertest.Eval[bool](t, p, `document.querySelector(location.hash).open`) {
		t.Error("a link from the sheet does not open its lot")
	}
	for _, text := range append(p.Console(), p.Requests()...) {
		t.Error(text)
	}
}

// Without the script there are no controls that do nothing, and nothing is missing.
func TestWithoutTheScript(t *testing.T) {
	p := browser(t).Show(t, html(t, small(t)), browsertest.View{Width: 390, NoScript: true})
	if browsertest.Eval[bool](t, p, `document.querySelector("form.tools").checkVisibility()`) {
		t.Error("the controls are shown, and do nothing")
	}
	hidden := list(t, p, `[...document.querySelectorAll("[hidden]")].filter(e => !e.matches("form,.scripted,.filter")).map(e => e.outerHTML.slice(0, 80))`)
	if len(hidden) > 0 {
		t.Errorf("hidden: %q", hidden)
	}
	if n := len(list(t, p, allLots)); n < 9 {
		t.Errorf("%d lots", n)
	}
}

// The sheet prints to the pages that it states, with every row whole, whatever the
// list says; a lot that stands open comes before it.
func TestTheBidSheetPrints(t *testing.T) {
	b := browser(t)
	all, _ := whole(t)
	sampled := *all
	long := hostileSale(t, func(i int) string { return hostile[i] + strings.Repeat(" very long", 12) },
		strings.Repeat("a long name ", 30))
	for name, s := range map[string]*page.Sale{"sample": &sampled, "hostile": long,
		"made up": madeUp(t)} {
		s.Panels = 2
		body := html(t, s)
		p := b.Show(t, body, browsertest.View{Width: 718, Print: true}) // A4 less the margins, at 96 dots an inch
		stated := browsertest.Eval[int](t, p, `Number(document.querySelector(".sheet .pages").textContent)`)
		n, err := browsertest.Pages(p.PDF(t))
		if err != nil || n != stated || stated != strings.Count(string(body), `<div class="sheet">`) {
			t.Errorf("%s: prints to %d pages, states %d, %v", name, n, stated, err)
		}
		if name != "hostile" {
			cut := list(t, p, `[...document.querySelectorAll(".sheet tbody tr > * > div")].filter(e => e.scrollHeight > e.clientHeight + 1).map(e => e.textContent)`)
			if len(cut) > 0 {
				t.Errorf("cut in print: %q", cut)
			}
			if name == "made up" {
				continue
			}
			broken := list(t, p, `[...document.querySelectorAll(".sheet .stop b, .sheet .stop small, .sheet .pass > div, .sheet .total > div")].filter(e => { const r = document.createRange(); r.selectNodeContents(e); return new Set([...r.getClientRects()].filter(b => b.width > 0).map(b => b.top)).size > 1 || e.scrollWidth > e.clientWidth }).map(e => e.textContent)`)
			if len(broken) > 0 {
				t.Errorf("prices that break in print: %q", broken)
			}
			boxes := browsertest.Eval[int](t, p,
				`[...document.querySelectorAll(".sheet td.box")].filter(e => e.getBoundingClientRect().width > 75 && e.getBoundingClientRect().height > 40).length`)
			if rows := len(list(t, p, sheetLots)); boxes != rows {
				t.Errorf("%d boxes to write in for %d rows", boxes, rows)
			}
			big := browsertest.Eval[float64](t, p,
				`parseFloat(getComputedStyle(document.querySelector(".sheet .stop")).fontSize)`)
			if big < 24 {
				t.Errorf("the stop price is %.0f pixels high", big)
			}
			// Black on white, whatever the screen's scheme.
			inks := list(t, p, `[...new Set([...document.querySelectorAll(".sheet *")].filter(e => e.checkVisibility()).map(e => getComputedStyle(e).color))]`)
			for _, ink := range inks {
				if ink != "rgb(0, 0, 0)" && ink != "rgb(51, 51, 51)" {
					t.Errorf("the sheet prints in %s", ink)
				}
			}
			browsertest.Eval[bool](t, p, `document.querySelector("details.lot").open = true`)
			if more, err := browsertest.Pages(p.PDF(t)); err != nil || more <= n {
				t.Errorf("with a lot open it prints to %d pages, %v", more, err)
			}
		}
	}
}

// Ticking answers moves the price at once to that of the lot given the answers, by touch, on a phone,
// without a request.
func TestTappingAtTheCar(t *testing.T) {
	b := browser(t)
	shop := starter(t)
	ps := probes(t, easy())
	var probed bytes.Buffer
	if err := page.Probe(&probed, ps); err != nil {
		t.Fatal(err)
	}
	lot, err := sample(t, shop, 0).Find(easy())
	if err != nil {
		t.Fatal(err)
	}
	s, body := whole(t)
	study, err := s.Evaluator.Assess(lot)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		body  []byte
		form  string
		study *evaluate.Assessment
	}{
		"probe": {probed.Bytes(), "form.inspect", ps.Probes[0].Assessment},
		"sale":  {[]byte(body), `details[open] form.inspect`, study},
	} {
		t.Run(name, func(t *testing.T) {
			p := b.Show(t, c.body, browsertest.View{Width: 390, Height: 844})
			if name == "sale" {
				browsertest.Eval[bool](t, p,
					`(() => { const d = [...document.querySelectorAll("details.lot")].find(d => d.querySelector(".no bdi").textContent === "`+easy()+`"); return d.open = true })()`)
			}
			shows := func(answers ...probe.Answer) {
				t.Helper()
				shown := probe.ShownBy(itemsOf(t, p, c.form), answers)
				given, err := c.study.Given(shown)
				if err != nil {
					t.Fatal(err)
				}
				stop, _ := given.HighestBid()
				want, pay := "don't bid", ""
				if stop > 0 {
					want, pay = "£"+comma(stop.Pounds()), "to pay £"+comma(c.study.Outlay(stop).Pounds())
				}
				if got := browsertest.Eval[string](t, p,
					fmt.Sprintf(`document.querySelector(%q).querySelector(".price").textContent`, c.form)); got != want {
					t.Errorf("%+v: stop at %q, want %q", shown, got, want)
				}
				if got := browsertest.Eval[string](t, p,
					fmt.Sprintf(`document.querySelector(%q).querySelector(".pay").textContent`, c.form)); got != pay {
					t.Errorf("%+v: %q, want %q", shown, got, pay)
				}
			}
			answers := make([]probe.Answer, len(itemsOf(t, p, c.form)))
			if len(answers) < 3 {
				t.Fatalf("%d items", len(answers))
			}
			shows(answers...)
			for _, x := range []struct {
				item   int
				answer probe.Answer
			}{{0, probe.Found}, {2, probe.NotThere}, {0, probe.NotThere}, {1, probe.NotThere}, {2, probe.NotLooked}} {
				p.Tap(t, fmt.Sprintf(`%s fieldset:nth-of-type(%d) label:nth-child(%d)`, c.form, x.item+1, int(x.answer)+1))
				answers[x.item] = x.answer
				shows(answers...)
			}
			p.Tap(t, c.form+" button")
			time.Sleep(100 * time.Millisecond)
			shows(make([]probe.Answer, len(answers))...)
			small := list(t, p, fmt.Sprintf(`[...document.querySelector(%q).querySelectorAll("label,button")].filter(e => { const r = e.getBoundingClientRect(); return r.height < 44 || r.width < 44 }).map(e => e.textContent)`, c.form))
			if len(small) > 0 {
				t.Errorf("too small to tap: %q", small)
			}
			for _, text := range append(p.Console(), p.Requests()...) {
				t.Error(text)
			}
		})
	}
}

// itemsOf are what a page asks about, from the words of each: "nose, mechanical: ...".
func itemsOf(t *testing.T, p *browsertest.Page, form string) []damage.Item {
	t.Helper()
	var out []damage.Item
	for _, words := range list(t, p,
		fmt.Sprintf(`[...document.querySelector(%q).querySelectorAll("legend")].map(e => e.firstChild.textContent.trim())`,
			form)) {
		found := false
		for _, z := range damage.Zones() {
			for _, c := range damage.Classes() {
				for g := damage.Grade(1); g <= damage.GradeCount; g++ {
					if i := (damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}); i.Words() == words {
						out, found = append(out, i), true
					}
				}
			}
		}
		if !found {
			t.Fatalf("%q is not an item", words)
		}
	}
	return out
}

// A pattern that was not worked out, and answers that contradict each other, are said to
// be that.
func TestWhatWasNotWorkedOut(t *testing.T) {
	started := browser(t)
	ps := probes(t, easy())
	var b bytes.Buffer
	if err := page.Probe(&b, ps); err != nil {
		t.Fatal(err)
	}
	cut := regexp.MustCompile(`data-stops="([^,]*),[^,]*,[^,]*,`).ReplaceAll(b.Bytes(), []byte(`data-stops="$1,,-,`))
	p := started.Show(t, cut, browsertest.View{Width: 390})
	price := `document.querySelector("form.inspect .price").textContent`
	p.Tap(t, "form.inspect label:nth-child(2)")
	if got := browsertest.Eval[string](t, p, price); !strings.Contains(got, "too unusual") ||
		!strings.Contains(got, "lot "+easy()) {
		t.Errorf("says %q", got)
	}
	p.Tap(t, "form.inspect label:nth-child(3)")
	if got := browsertest.Eval[string](t, p, price); !strings.Contains(got, "can't all be right") {
		t.Errorf("says %q", got)
	}
}

// The total of the bid sheet is of all lots at their stops, and of those ticked as bought
// once one is.
func TestTheRunningTotal(t *testing.T) {
	p := browser(t).Show(t, html(t, small(t)), browsertest.View{Width: 390, Height: 844})
	pays := browsertest.Eval[[]float64](t, p,
		`[...document.querySelectorAll(".sheet tbody tr")].map(e => Number(e.dataset.pay))`)
	totals := func() []string {
		return list(t, p, `[...document.querySelectorAll(".sheet .total output")].map(e => e.textContent)`)
	}
	if len(pays) < 4 {
		t.Fatalf("%d rows", len(pays))
	}
	check := func(counts func(i int) bool) {
		t.Helper()
		sum := 0.0
		for i, got := range totals() {
			if counts(i) {
				sum += pays[i]
			}
			if want := "£" + comma(math.Round(sum)); got != want {
				t.Errorf("row %d: %s, want %s", i+1, got, want)
			}
		}
	}
	check(func(int) bool { return true })
	p.Tap(t, ".sheet tbody tr:nth-child(2) .bought")
	p.Tap(t, ".sheet tbody tr:nth-child(4) .bought")
	check(func(i int) bool { return i == 1 || i == 3 })
	p.Tap(t, ".sheet tbody tr:nth-child(2) .bought")
	p.Tap(t, ".sheet tbody tr:nth-child(4) .bought")
	check(func(int) bool { return true })
	small := list(t, p, `[...document.querySelectorAll(".sheet label")].filter(e => e.checkVisibility() && e.getBoundingClientRect().height < 44).map(e => e.textContent)`)
	if len(small) > 0 {
		t.Errorf("too small to tap: %q", small)
	}
}

// What was ticked is there again when the page is opened again, until it is cleared.
func TestTicksAreKept(t *testing.T) {
	b := browser(t)
	file := filepath.Join(t.TempDir(), "sale.html")
	if err := os.WriteFile(file, html(t, small(t)), 0o600); err != nil {
		t.Fatal(err)
	}
	view := browsertest.View{Width: 390, Height: 844}
	state := func(p *browsertest.Page) string {
		browsertest.Eval[bool](t, p, `[...document.querySelectorAll("details.lot")].find(d => d.querySelector("form.inspect")).open = true`)
		return browsertest.Eval[string](t, p, `(() => {
			const form = document.querySelector("details[open] form.inspect");
			return [form.querySelector(".price").textContent,
				[...form.querySelectorAll("fieldset")].map(f => f.querySelector("input:checked").value).join(""),
				[...document.querySelectorAll(".sheet input:checked")].length,
				document.querySelector(".sheet tbody tr:last-child .total output").textContent].join(" ");
		})()`)
	}
	p := b.Open(t, file, view)
	fresh := state(p)
	p.Tap(t, "details[open] form.inspect fieldset:nth-of-type(1) label:nth-child(2)")
	p.Tap(t, "details[open] form.inspect fieldset:nth-of-type(2) label:nth-child(3)")
	p.Tap(t, ".sheet tbody tr:nth-child(2) .bought")
	p.Tap(t, ".sheet tbody tr:nth-child(1) .see .tick")
	ticked := state(p)
	if ticked == fresh || !strings.Contains(ticked, " 12") {
		t.Fatalf("%q after %q", ticked, fresh)
	}
	p = b.Open(t, file, view)
	if again := state(p); again != ticked {
		t.Errorf("opened again: %q, it was %q", again, ticked)
	}
	p.Tap(t, "details[open] form.inspect button")
	p.Tap(t, "#clear")
	time.Sleep(100 * time.Millisecond)
	if cleared := state(p); cleared != fresh {
		t.Errorf("cleared: %q, at first %q", cleared, fresh)
	}
	p = b.Open(t, file, view)
	if again := state(p); again != fresh {
		t.Errorf("cleared and opened again: %q, at first %q", again, fresh)
	}
	for _, text := range append(p.Console(), p.Requests()...) {
		t.Error(text)
	}
}
