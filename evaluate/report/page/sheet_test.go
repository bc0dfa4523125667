package page_test

import (
	"fmt"
	htmlpkg "html"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/report/page"
)

var sheetRows = regexp.MustCompile(`<tr data-id="l\d+"[^>]*><th scope="row"><div><a href="#l\d+"><bdi>([^<]*)</bdi>(.*?)</tr>`)
var tickTexts = regexp.MustCompile(`<label class="tick"><input type="checkbox"> ([^<]*)</label>`)

// looksOf are what the bid sheet of a page says to look at, by lot.
func looksOf(body string) map[string][]string {
	out := map[string][]string{}
	for _, m := range sheetRows.FindAllStringSubmatch(body, -1) {
		out[m[1]] = nil
		for _, x := range tickTexts.FindAllStringSubmatch(m[2], -1) {
			out[m[1]] = append(out[m[1]], htmlpkg.UnescapeString(x[1]))
		}
	}
	return out
}

// everySuspicion fails where a lot on the bid sheet lacks a mark that its code suspects,
// or names something else first.
func everySuspicion(t *testing.T, s *page.Sale, body string) (marks int) {
	t.Helper()
	looks := looksOf(body)
	for _, r := range s.Results {
		lines, on := looks[r.Lot.Number]
		if !on {
			continue
		}
		own := 0
		for _, m := range r.Lot.Code.Marks() {
			if m.State != damage.Suspected {
				continue
			}
			own++
			found := -1
			for i, line := range lines {
				if strings.HasPrefix(line, m.Item.String()+" ") {
					found = i
				}
			}
			if found < 0 {
				t.Errorf("lot %s: %s %s is suspected and not on the sheet: %q", r.Lot.Number, m.Zone, m, lines)
			}
		}
		for i, line := range lines[:min(own, len(lines))] {
			mine := false
			for _, m := range r.Lot.Code.Marks() {
				mine = mine || m.State == damage.Suspected && strings.HasPrefix(line, m.Item.String()+" ")
			}
			if !mine {
				t.Errorf("lot %s: %q stands at %d before what the code suspects: %q", r.Lot.Number, line, i+1, lines)
			}
		}
		marks += own
	}
	return marks
}

// Every mark that a list suspects is on the bid sheet, before what rules add.
func TestTheBidSheetNamesEverySuspectedMark(t *testing.T) {
	s, body := whole(t)
	if n := everySuspicion(t, s, body); n < 10 {
		t.Errorf("only %d suspected marks in the sample", n)
	}
	first := looksOf(body)["1"]
	if len(first) == 0 || !strings.HasPrefix(first[0], "nose m1 60") {
		t.Errorf("lot 1 says to look at %q first, but its code has m1?60", first)
	}
}

// madeUp is a sale of lots with up to ten suspected marks each.
func madeUp(t *testing.T) *page.Sale {
	t.Helper()
	rng := rand.New(rand.NewPCG(11, 5))
	zones, classes := damage.Zones(), damage.Classes()
	var b strings.Builder
	b.WriteString("lot,make,category,damage,value,guide\n")
	for n := range 60 {
		var code []string
		for _, z := range rng.Perm(len(zones))[:1+rng.IntN(5)] {
			group := zones[z].String()
			for _, c := range rng.Perm(len(classes))[:1+rng.IntN(2)] {
				group += fmt.Sprintf(" %s%d?%d", classes[c].Letter(), 1+rng.IntN(3), 1+rng.IntN(40))
			}
			code = append(code, group)
		}
		fmt.Fprintf(&b, "%d,Brantholt,N,%s,%d,%d\n", n+1, strings.Join(code, "; "), 40000+rng.IntN(30000),
			2000+rng.IntN(9000))
	}
	shop := starter(t)
	list := readLots(t, shop, "list.csv", b.String())
	if len(list.Lots) < 55 {
		t.Fatalf("%d lots were read: %v", len(list.Lots), list.Problems)
	}
	return sale(t, shop, list)
}

// The same of made-up lots.
func TestTheBidSheetOfMadeUpLots(t *testing.T) {
	if testing.Short() {
		t.Skip("evaluates and writes sixty lots; the sample sale has the same check")
	}
	s := madeUp(t)
	if n := everySuspicion(t, s, string(html(t, s))); n < 100 {
		t.Errorf("only %d suspected marks", n)
	}
}

// What is to be paid at the stop is the tariff's sum, and the totals add up down the sheet.
func TestWhatIsToBePaidAtTheStop(t *testing.T) {
	s, body := whole(t)
	rows := regexp.MustCompile(`<tr data-id="(l\d+)" data-size="\d" data-pay="([^"]*)".*?<bdi>([^<]*)</bdi>.*?<output>([^<]*)</output>`).FindAllStringSubmatch(body, -1)
	byLot := map[string]*evaluate.Result{}
	for _, r := range s.Results {
		byLot[r.Lot.Number] = r
	}
	total := 0.0
	for _, m := range rows {
		r := byLot[m[3]]
		assessed, err := s.Evaluator.Assess(r.Lot)
		if err != nil {
			t.Fatal(err)
		}
		want := assessed.Outlay(r.HighestBid).Pounds()
		if m[2] != strings.TrimSuffix(strings.TrimSuffix(fmt.Sprintf("%.2f", want), "0"), ".0") {
			t.Errorf("lot %s: %s to pay at the stop, want %.2f", m[3], m[2], want)
		}
		if want <= r.HighestBid.Pounds() {
			t.Errorf("lot %s: %v to pay for a hammer price of %s", m[3], want, r.HighestBid)
		}
		total += want
		if got := strings.NewReplacer("£", "", ",", "").Replace(m[4]); got != fmt.Sprintf("%.0f", total) {
			t.Errorf("lot %s: the total so far is %s, want %.0f", m[3], got, total)
		}
	}
	if len(rows) < 40 {
		t.Errorf("only %d rows", len(rows))
	}
}
