package probe_test

import (
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// sample is the sample sale with the built-in workshop.
func sample(t testing.TB) (*shop.Shop, *lots.List) {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	text, err := os.ReadFile("../../samples/sale.csv")
	if err != nil {
		t.Fatal(err)
	}
	list, err := lots.ReadList(tabular.NewCSV("sale.csv", strings.NewReader(string(text))), workshop, lots.Reading{})
	if err != nil {
		t.Fatal(err)
	}
	return workshop, list
}

// checksOf are what to look at on a lot.
func checksOf(t testing.TB, e *evaluate.Evaluator, l *evaluate.Lot) (*evaluate.Result, []probe.Check) {
	t.Helper()
	r, err := e.Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	if !r.Evaluated() {
		return r, nil
	}
	s, err := e.Assess(l)
	if err != nil {
		t.Fatal(err)
	}
	return r, probe.Checks(s, e, r)
}

// Answers are written into a code as a person writes them.
func TestAnswersInACode(t *testing.T) {
	items := []damage.Item{item(t, "nose m1"), item(t, "bay m2"), item(t, "nose m3"), item(t, "nose c4")}
	no, yes, not := probe.NotLooked, probe.Found, probe.NotThere
	for _, c := range []struct {
		code    string
		answers []probe.Answer
		want    string
	}{
		{"nose c3 m1?60", []probe.Answer{no, no, no, no}, "nose c3 m1?60"},
		{"nose c3 m1?60", []probe.Answer{yes, no, no, no}, "nose c3 m1"},
		{"nose c3 m1?60", []probe.Answer{not, not, no, no}, "nose c3 m1-; bay m2-"},
		{"nose c3 m1?60", []probe.Answer{no, no, yes, no}, "nose c3 m3"},
		{"nose c3 m1?60", []probe.Answer{yes, no, yes, no}, "nose c3 m3"},
		{"nose c3 m1?60", []probe.Answer{no, no, not, no}, "nose c3 m1?60 m3-"},
		{"nose c3 m1?60", []probe.Answer{not, no, not, no}, "nose c3 m1-"},
		{"nose c3 m1?60", []probe.Answer{not, no, yes, no}, ""}, // m3 is there and m1 is not
		{"nose c3 m1?60", []probe.Answer{no, no, no, yes}, "nose c4 m1?60"},
		{"nose c3 m1?60 m2?", []probe.Answer{not, no, no, no}, "nose c3 m1-"},
		{"nose c3; bay m4-", []probe.Answer{no, not, no, no}, "nose c3; bay m2-"},
		{"none", []probe.Answer{no, not, no, no}, "bay m2-"},
	} {
		got, ok := probe.Answered(code(t, c.code), items, c.answers)
		if ok != (c.want != "") || ok && got.String() != c.want {
			t.Errorf("%q with %v: %q, %v; want %q", c.code, c.answers, got, ok, c.want)
		}
	}
}

// Every pattern's price is what screening the lot with the answers written into its code
// says, and what is to be paid then is the tariff's.
func TestEveryPatternIsThatOfTheEditedCode(t *testing.T) {
	workshop, list := sample(t)
	e, err := evaluate.New(workshop, evaluate.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	numbers := []string{"1", "7", "26"}
	if testing.Short() {
		numbers = numbers[:1]
	}
	for _, number := range numbers {
		l, err := list.Find(number)
		if err != nil {
			t.Fatal(err)
		}
		_, checks := checksOf(t, e, l)
		start := time.Now()
		a, err := probe.WorkOut(e, l, probe.Items(checks, probe.MostAnswered), 1<<20)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("lot %s: %d patterns in %v", number, len(a.Stops), time.Since(start))
		moved := map[string]bool{}
		k := len(a.Items)
		for n, stop := range a.Stops {
			answers := make([]probe.Answer, k)
			for i, rest := 0, n; i < k; i++ {
				answers[i] = probe.Answer(rest % 3)
				rest /= 3
			}
			if probe.Pattern(answers) != n {
				t.Fatalf("pattern %d is numbered %d", n, probe.Pattern(answers))
			}
			edited := *l
			var ok bool
			if edited.Code, ok = probe.Answered(l.Code, a.Items, answers); !ok {
				if stop != probe.Contradicts {
					t.Errorf("lot %s %v: %s, but the answers contradict", number, answers, stop)
				}
				continue
			}
			// Through the text, as it would be typed.
			edited.Code = code(t, edited.Code.String())
			r, err := e.Evaluate(&edited)
			if err != nil {
				t.Fatal(err)
			}
			if r.HighestBid != stop {
				t.Errorf("lot %s, %s: %s in the table, %s by screening", number, edited.Code, stop, r.HighestBid)
			}
			moved[stop.String()] = true
		}
		if len(moved) < k {
			t.Errorf("lot %s: %d items, but only %d prices", number, k, len(moved))
		}
	}
}

// Of too many patterns those with few answers are worked out, and the others say so.
func TestFewPatterns(t *testing.T) {
	workshop, list := sample(t)
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	l, err := list.Find("7")
	if err != nil {
		t.Fatal(err)
	}
	_, checks := checksOf(t, e, l)
	a, err := probe.WorkOut(e, l, probe.Items(checks, 3), 7)
	if err != nil {
		t.Fatal(err)
	}
	for n, stop := range a.Stops {
		given := 0
		for rest := n; rest > 0; rest /= 3 {
			if rest%3 != 0 {
				given++
			}
		}
		if (stop == probe.NotWorkedOut) != (given > 1) {
			t.Errorf("pattern %d with %d answers: %v", n, given, int64(stop))
		}
	}
}

// The quick order of a sale's pages against the probe's own: what the code suspects is
// first in both, and the item that is worth most to know by the one is among the first
// three of the other. (Of the first 24 lots of the sample, 17 have a choice: the first is
// the same in 15, and among the first three in all.)
func TestTheQuickOrderIsTheProbes(t *testing.T) {
	if testing.Short() {
		t.Skip("probes two lots")
	}
	workshop, list := sample(t)
	e, err := evaluate.New(workshop, evaluate.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for _, number := range []string{"8", "7"} { // which both have something to find out
		l, err := list.Find(number)
		if err != nil {
			t.Fatal(err)
		}
		_, checks := checksOf(t, e, l)
		p, err := probe.Run(workshop, evaluate.Options{Seed: 1}, l)
		if err != nil {
			t.Fatal(err)
		}
		for i, u := range p.Unknowns {
			if u.Own != (i < len(checks) && checks[i].Own) {
				t.Errorf("lot %s: %s at %d is suspected by the code in one order only", l.Number, u.Item, i+1)
			}
		}
		if !slices.ContainsFunc(checks[:min(3, len(checks))],
			func(c probe.Check) bool { return c.Item == p.Unknowns[0].Item }) {
			t.Errorf("lot %s: %s is worth most to know, and not among the first three of %+v", number, p.Unknowns[0].Item,
				checks)
		}
	}
}
