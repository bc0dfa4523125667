package page_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	htmlpkg "html"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/report/page"
)

var (
	lotPattern  = regexp.MustCompile(`(?s)<details class="lot" id="(l\d+)"([^>]*)>\n<summary>(.*?)</summary>\n(.*?)</div>\n</details>`)
	attribute   = regexp.MustCompile(`data-(\w+)="([^"]*)"`)
	dataPattern = regexp.MustCompile(`<dt>([^<]*)</dt><dd><data value="([^"]*)">([^<]*)</data>`)
	anyData     = regexp.MustCompile(`<data value="([^"]*)">`)
	tagPattern  = regexp.MustCompile(`<[^>]*>`)
	svgPattern  = regexp.MustCompile(`(?s)<svg.*?</svg>`)
)

// text is what a reader sees of markup, pictures aside.
func text(markup string) string {
	return strings.Join(strings.Fields(htmlpkg.UnescapeString(tagPattern.ReplaceAllString(svgPattern.ReplaceAllString(markup, ""), " "))), " ")
}

// Every number of a lot's row and panel is that of the JSON, and what is shown is
// that number rounded.
func TestSaleNumbersEqualTheJSON(t *testing.T) {
	s, body := whole(t)
	byLot := map[string]map[string]any{}
	for _, l := range written(t, s.Screen)["lots"].([]any) {
		l := l.(map[string]any)
		byLot[l["lot"].(string)] = l
	}
	pounds := draw.Money("GBP")
	near := func(v float64) string { return pounds.Value(math.Round(v/10) * 10) }
	percent := report.Percent // the page's space that does not break is a space to text
	seen, charted := 0, 0
	for _, m := range lotPattern.FindAllStringSubmatch(body, -1) {
		row := text(m[3])
		number := regexp.MustCompile(`lot (\S+)`).FindStringSubmatch(row)[1]
		want, ok := byLot[number]
		if !ok {
			t.Fatalf("lot %q is not in the JSON", number)
		}
		seen++
		get := func(path string) (v any) {
			v = want
			for key := range strings.SplitSeq(path, ".") {
				v = v.(map[string]any)[key]
			}
			return v
		}
		same := func(what, got string, path string) {
			x, err := strconv.ParseFloat(got, 64)
			if err != nil || x != get(path) {
				t.Errorf("lot %s: %s is %q on the page, %s %v in the JSON", number, what, got, path, get(path))
			}
		}
		shows := func(in, figure string) {
			if !strings.Contains(in, figure) {
				t.Errorf("lot %s: %q is not shown in %q", number, figure, in)
			}
		}
		attrs := map[string]string{}
		for _, a := range attribute.FindAllStringSubmatch(m[2], -1) {
			attrs[a[1]] = htmlpkg.UnescapeString(a[2])
		}
		same("data-bid", attrs["bid"], "highest_bid")
		same("data-repair", attrs["repair"], "repair.mean")
		shows(row, near(get("repair.mean").(float64)))
		shows(row, near(get("repair.p10").(float64))+" to "+near(get("repair.p90").(float64)))
		if bid := get("highest_bid").(float64); bid > 0 {
			shows(row, "stop at "+pounds.Value(bid))
		} else {
			shows(row, "stop at "+report.DontBid)
		}
		ranked := want["status"] == "ranked"
		if ranked {
			same("data-margin", attrs["margin"], "margin.mean")
			same("data-loss", attrs["loss"], "margin.loss_chance")
			shows(row, near(get("margin.p10").(float64))+" to "+near(get("margin.p90").(float64)))
			shows(row, "loss "+percent(get("margin.loss_chance").(float64)))
			shows(row, "guide "+pounds.Value(get("guide").(float64)))
		} else if attrs["margin"] != "" {
			t.Errorf("lot %s has no guide price, but a margin", number)
		}
		if attrs["category"] != want["category"] || attrs["verdict"] != want["verdict"] {
			t.Errorf("lot %s: %q %q, want %v %v", number, attrs["category"], attrs["verdict"], want["category"], want["verdict"])
		}
		facts := map[string][2]string{}
		for _, d := range dataPattern.FindAllStringSubmatch(m[4], -1) {
			facts[d[1]] = [2]string{d[2], htmlpkg.UnescapeString(d[3])}
		}
		if len(facts) == 0 {
			shows(text(m[4]), "repair, likely (P50) "+near(get("repair.p50").(float64)))
			continue
		}
		charted++
		paths := map[string]string{"stop at": "highest_bid", "repair, likely (P50)": "repair.p50",
			"repair, average": "repair.mean", "sale price, average": "resale.mean",
			"your hours, average": "hours.mean", "days to sale, average": "days.mean", "value before the damage": "value"}
		if ranked {
			paths["margin at the guide price, average"], paths["chance of a loss there"], paths["guide price"] =
				"margin.mean", "margin.loss_chance", "guide"
		}
		for what, path := range paths {
			same(what, facts[what][0], path)
		}
		if got := facts["repair, average"][1]; got != near(get("repair.mean").(float64)) {
			t.Errorf("lot %s: the mean repair is shown as %s", number, got)
		}
	}
	if seen < 60 || charted != page.DefaultPanels {
		t.Errorf("%d lots, %d with charts; want %d with charts", seen, charted, page.DefaultPanels)
	}
}

// collect gathers every number of decoded JSON.
func collect(v any, into map[float64]bool) {
	switch v := v.(type) {
	case float64:
		into[v] = true
	case []any:
		for _, x := range v {
			collect(x, into)
		}
	case map[string]any:
		for _, x := range v {
			collect(x, into)
		}
	}
}

// numbersOf returns the numbers that a page carries for machines.
func numbersOf(t *testing.T, body []byte) []float64 {
	t.Helper()
	var all []float64
	for _, m := range anyData.FindAllSubmatch(body, -1) {
		x, err := strconv.ParseFloat(string(m[1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, x)
	}
	return all
}

func TestReportNumbersEqualTheJSON(t *testing.T) {
	ps := probes(t, easy())
	re, history := halfway(t)
	builds := []string{"1", "2", "7", "9"}
	if testing.Short() {
		builds = builds[:2]
	}
	rv := finished(t, builds...)
	probed, reforecast, reviewed := written(t, ps), written(t, re), written(t, rv)
	round := func(x float64) float64 { return math.Round(x*100) / 100 }
	// A sum of two that the JSON has; the sale price; and what was believed before.
	own := map[float64]bool{round(re.Forecast.Actual(re.LabourRate)): true, round(re.Forecast.Start.Resale.Mean): true,
		round(re.Forecast.Now.Resale.Mean): true}
	for _, m := range history {
		own[round(m.Repair.Mean)], own[round(m.Margin.Mean)], own[math.Round(m.Margin.LossChance*1e6)/1e6] = true, true, true
	}
	for _, c := range []struct {
		name  string
		write func(b *bytes.Buffer) error
		json  map[string]any
		own   map[float64]bool
		least int
	}{
		{"probe", func(b *bytes.Buffer) error { return page.Probe(b, ps) }, probed, nil, 100},
		{"reforecast", func(b *bytes.Buffer) error { return page.Reforecast(b, re, history) }, reforecast, own, 40},
		{"review", func(b *bytes.Buffer) error { return page.Review(b, rv) }, reviewed, nil, 60},
	} {
		var b bytes.Buffer
		if err := c.write(&b); err != nil {
			t.Fatal(err)
		}
		known := map[float64]bool{}
		collect(c.json, known)
		numbers := numbersOf(t, b.Bytes())
		for _, x := range numbers {
			if !known[x] && !c.own[x] {
				t.Errorf("%s: %v is on the page and not in the JSON", c.name, x)
			}
		}
		if len(numbers) < c.least {
			t.Errorf("%s: only %d numbers", c.name, len(numbers))
		}
	}
	var b bytes.Buffer
	if err := page.Probe(&b, ps); err != nil {
		t.Fatal(err)
	}
	numbers := numbersOf(t, b.Bytes())
	for _, key := range []string{"unknowns", "looks", "inputs", "odds"} {
		for _, x := range probed[key].([]any) {
			for _, field := range []string{"chance", "own_cost", "mean_cost", "worth_of_checking", "worth", "margin_at_low",
				"margin_at_high", "margin"} {
				if want, ok := x.(map[string]any)[field].(float64); ok && !slices.Contains(numbers, want) {
					t.Errorf("probe: %s %s %v is not on the page", key, field, want)
				}
			}
		}
	}
}

// hostile are texts that a list may hold, and that must change nothing.
var hostile = []string{
	`<script>document.title="owned"</script>`, `</svg></title></script></style><script>document.title="owned"</script>`,
	`"><img src=x onerror='document.title="owned"'>`, `'-alert(1)-'`, `<!-- `, `]]>`, `{{.Caution}}`, `&lt;b&gt;`,
	"\u202egnp.exe\u2066 \u200f", "a\x1b[31mb\u0007",
	strings.Repeat("W", 300), strings.Repeat("long words here ", 40),
}

// hostileList has a lot for each text, in every field that takes text; the same
// list with a harmless word in their place is what the page is compared with.
func hostileList(word func(i int) string) string {
	var b strings.Builder
	b.WriteString("lot,make,model,category,damage,description,value,guide,note\n")
	for i := range hostile {
		cell := `"` + strings.ReplaceAll(word(i), `"`, `""`) + `"`
		fmt.Fprintf(&b, "\"%d %s\",%s,%s,N,nose s1 c3 m1?60,%s,9400,2250,%s\n", i, strings.ReplaceAll(word(i), `"`, `""`),
			cell, cell, cell, cell)
	}
	return b.String()
}

func hostileSale(t testing.TB, word func(i int) string, name string) *page.Sale {
	shop := starter(t)
	s := sale(t, shop, readLots(t, shop, "list.csv", hostileList(word)))
	if len(s.Results) != len(hostile) {
		t.Fatalf("%d of %d lots were read: %v", len(s.Results), len(hostile), s.Rejected)
	}
	s.List = name
	return s
}

// tags is the page's structure: its elements in order, with their attributes but
// for what the attributes of data hold.
func tags(body []byte) []string {
	var out []string
	for _, tag := range tagPattern.FindAllString(string(body), -1) {
		out = append(out, regexp.MustCompile(`"[^"]*"`).ReplaceAllString(tag, `""`))
	}
	return out
}

func TestHostileTextChangesNothing(t *testing.T) {
	plain := html(t, hostileSale(t, func(int) string { return "word" }, "list.csv"))
	evil := html(t, hostileSale(t, func(i int) string { return hostile[i] }, hostile[1]))
	a, b := tags(plain), tags(evil)
	// A label that is cut has its whole text in a title.
	cut := func(all []string) []string {
		return slices.DeleteFunc(slices.Clone(all), func(s string) bool { return s == "<title>" || s == "</title>" })
	}
	if a, b = cut(a), cut(b); !slices.Equal(a, b) {
		t.Errorf("hostile text makes %d elements of %d", len(b), len(a))
		for i := range min(len(a), len(b)) {
			if a[i] != b[i] {
				t.Fatalf("the first that differs: %s, want %s", b[i], a[i])
			}
		}
	}
	for _, r := range string(evil) {
		if r < ' ' && r != '\n' || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069 || r == 0x200f || r == 0x200e {
			t.Errorf("%U reached the page", r)
		}
	}
	for _, bad := range []string{"ZgotmplZ", "<no value>"} {
		if strings.Contains(string(evil), bad) {
			t.Errorf("%q is on the page", bad)
		}
	}
	if !strings.Contains(string(evil), "{{.Caution}}") {
		t.Error("a text that looks like a template is not shown as it is")
	}
}

func TestTheSamePageTwice(t *testing.T) {
	shop := starter(t)
	one := html(t, sale(t, shop, sample(t, shop, 6)))
	list := sample(t, shop, 6)
	two := html(t, sale(t, shop, list))
	if !bytes.Equal(one, two) {
		t.Error("the same list gives another page")
	}
}

// The bid sheet has every lot that is worth a bid, in the order of the list.
func TestBidSheet(t *testing.T) {
	s, body := whole(t)
	var want []string
	lines := map[string]int{}
	for _, r := range s.Results {
		if r.Evaluated() && r.HighestBid > 0 {
			want = append(want, r.Lot.Number)
			lines[r.Lot.Number] = r.Lot.Line
		}
	}
	slices.SortFunc(want, func(a, b string) int { return lines[a] - lines[b] })
	var got []string
	for _, m := range regexp.MustCompile(`<tr data-id="l\d+"[^>]*><th scope="row"><div><a href="#l\d+"><bdi>([^<]*)</bdi>`).FindAllStringSubmatch(body, -1) {
		got = append(got, m[1])
	}
	if !slices.Equal(got, want) {
		t.Errorf("the sheet has %v, want %v", got, want)
	}
	pages := strings.Count(body, `<div class="sheet">`)
	if least := (len(want) + 15) / 16; pages < least {
		t.Errorf("%d sheets, want %d at least", pages, least)
	}
	if !strings.Contains(body, fmt.Sprintf("%d lots worth a bid, in the order of the list, on %d pages of A4", len(want),
		pages)) {
		t.Error("the page does not say how many pages the sheet has")
	}
}

func TestTopLeavesLotsOutAndSaysSo(t *testing.T) {
	all, _ := whole(t)
	s := *all
	s.Top = 5
	body := string(html(t, &s))
	if n := strings.Count(body, `data-margin="`); n != 5 {
		t.Errorf("%d ranked lots are shown, want 5", n)
	}
	if !strings.Contains(body,
		"More lots not shown: 56 ranked, 6 without a guide price, 2 not coded, 3 not for rebuilding.") {
		t.Error("the page does not say that lots are left out")
	}
}

// What goes wrong is an error, and an interrupted page is none.
func TestInterrupted(t *testing.T) {
	shop := starter(t)
	s := sale(t, shop, sample(t, shop, 10))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var b bytes.Buffer
	if err := s.HTML(ctx, &b); !errors.Is(err, context.Canceled) || b.Len() > 0 {
		t.Errorf("%v, %d bytes", err, b.Len())
	}
}

func TestAnEmptyListIsAPage(t *testing.T) {
	shop := starter(t)
	if body := string(html(t, sale(t, shop, &lots.List{}))); !strings.Contains(body, "The list has no lots.") ||
		!strings.Contains(body, report.Caution[:40]) {
		t.Error("an empty list says nothing")
	}
}

// Lots whose bids no price makes good, undamaged ones and ones without a guide
// price have a panel too; the cautions of the work at hand are on every page.
func TestCautionsAreOnEveryPage(t *testing.T) {
	_, body := whole(t)
	bodies := []string{body}
	for _, write := range []func(b *bytes.Buffer) error{
		func(b *bytes.Buffer) error { return page.Probe(b, probes(t, easy())) },
		func(b *bytes.Buffer) error { r, h := halfway(t); return page.Reforecast(b, r, h) },
		func(b *bytes.Buffer) error { return page.Review(b, finished(t, "3")) },
	} {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		bodies = append(bodies, b.String())
	}
	for i, body := range bodies {
		for _, want := range []string{report.Caution, "Before anyone works on one of these cars", "explosive articles",
			"The law where you are, the maker's repair method and licensed practice"} {
			if !strings.Contains(htmlpkg.UnescapeString(body), want) {
				t.Errorf("page %d lacks %q", i, want)
			}
		}
	}
}

// 500 lots stay under 3 MB.
func TestSizeOfALargeSale(t *testing.T) {
	if testing.Short() {
		t.Skip("a large list takes its time")
	}
	shop := starter(t)
	list := sample(t, shop, 0)
	first := list.Lots
	for n := 0; len(list.Lots) < 500; n++ {
		l := *first[n%len(first)]
		l.Number = fmt.Sprintf("%s-%d", l.Number, n)
		list.Lots = append(list.Lots, &l)
	}
	if n := len(html(t, sale(t, shop, list))); n > 3_500_000 {
		t.Errorf("%d bytes", n)
	}
}
