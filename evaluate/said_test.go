package evaluate_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// The error block states what 19 lots in 20 stay within: convolved, two hundredths and a
// tenth of a per cent and 0.2 points; by 8,192 simulated cars 0.45 and 1.4 per cent and
// 0.45 points, which falls as the root of their number.
func TestErrorsAreAsStated(t *testing.T) {
	l := lot(t, "nose c3; bay m1?")
	for _, x := range []struct {
		points                int
		mean, p90, lossChance float64
	}{{0, 0.0002, 0.001, 0.002}, {8192, 0.0045, 0.014, 0.0045}, {2048, 0.009, 0.028, 0.009}} {
		e, err := evaluate.New(paper(t), evaluate.Options{Points: x.points})
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "mean", r.Errors.RepairMean, x.mean*r.Repair.Mean)
		near(t, "P90", r.Errors.RepairP90, x.p90*r.Repair.P90)
		near(t, "chance of a loss", r.Errors.LossChance, x.lossChance)
	}
}

// A shop is told to take advice from 85 % of the VAT registration threshold on, this sale
// counted: common practice, no source, for how near is near.
func TestVATThreshold(t *testing.T) {
	workshop := *paper(t)
	workshop.Categories = []shop.Category{{Name: "N", Rebuild: true, Share: stats.Fixed(0.2)}}
	workshop.VATThreshold = 100000
	for _, x := range []struct {
		turnover   float64
		registered bool
		want       bool
	}{{80000, false, true}, {80000, true, false}, {79999, false, false}, {0, false, false}, {99000, false, true}} {
		workshop.Turnover, workshop.VATRegistered = x.turnover, x.registered
		e, err := evaluate.New(&workshop, evaluate.Options{Points: 64})
		if err != nil {
			t.Fatal(err)
		}
		l := lot(t, "nose c3")
		l.Value = money.FromPounds(6250.5) // sold for 5,000.40: 85 % of the threshold, and a little
		r, err := e.Evaluate(l)
		if err != nil {
			t.Fatal(err)
		}
		got := false
		for _, w := range r.Warnings {
			got = got || w.Kind == "vat"
		}
		if got != x.want {
			t.Errorf("turnover %v, registered %v: warned %v, want %v", x.turnover, x.registered, got, x.want)
		}
	}
}

// Structure that a category S lot must have and nobody coded goes to the zone hit worst:
// outside zones before the others, then the highest grade, the largest sum, the first; not
// where it is ruled out.
func TestUncodedStructureGoesToTheZoneHitWorst(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	workshop.UncodedStructure = 0.6
	e, err := evaluate.New(workshop, evaluate.Options{Points: 64})
	if err != nil {
		t.Fatal(err)
	}
	for code, want := range map[string]string{
		"cabin c4 e4; tail c2":           "tail s2", // worse inside, and still outside
		"nose c2; tail c3":               "tail s2",
		"nose c3; tail c3 m1":            "tail s2",
		"nose c3; tail c3":               "nose s2",
		"nose c3 s1-; tail c2":           "tail s2",
		"nose c3; tail c2 s3-":           "nose s2",
		"cabin c2":                       "cabin s2",
		"bay m3; cabin e2; rear-off c1?": "rear-off s2",
	} {
		l := lot(t, code)
		l.Category = "S"
		p, err := e.Resolve(l)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, c := range p.Case {
			if c.Class == damage.Structural && c.Kind == costs.Suspected {
				got += c.Item.String()
				near(t, code+": chance", c.Chance, 0.6)
			}
		}
		if got != want {
			t.Errorf("%s: %q, want %q", code, got, want)
		}
	}
}

// A lot without a site says in words which site's fees it was charged.
func TestNoSiteIsSaid(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	e, err := evaluate.New(workshop, evaluate.Options{})
	if err != nil {
		t.Fatal(err)
	}
	l := lot(t, "nose c3")
	l.Site, l.Guide = "", 200000
	named := *l
	none, err := e.Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	site := ""
	for _, w := range none.Warnings {
		if w.Kind == "no-site" {
			site = strings.TrimSuffix(strings.TrimPrefix(w.Text, "no site named: "), "'s fees, the dearest, are included")
		}
	}
	if named.Site = site; !workshop.Tariff.Has(site) {
		t.Fatalf("warnings %+v", none.Warnings)
	}
	at, err := e.Evaluate(&named)
	if err != nil {
		t.Fatal(err)
	}
	if none.Outlay != at.Outlay || none.HighestBid != at.HighestBid || none.Margin != at.Margin ||
		none.Verdict() != at.Verdict() {
		t.Errorf("without a site %+v, at %s %+v", none, site, at)
	}
	l.Site = "none"
	private, err := e.Evaluate(l)
	if err != nil {
		t.Fatal(err)
	}
	if private.Outlay >= at.Outlay || private.Status != bid.Ranked || len(private.Warnings) != len(at.Warnings) {
		t.Errorf("a private purchase: %+v", private)
	}
}

// Cash is what leaves the bank before the sale: outlay, the mean of fixed items and extras,
// and P80 of the spend. Both engines, and own wages in neither.
func TestCashLeavesWagesOut(t *testing.T) {
	workshop := *paper(t)
	workshop.Fixed = []shop.Charge{{Name: "test", Amount: stats.Fixed(55)}}
	l := lot(t, "nose c3")
	for _, points := range []int{0, 64} {
		cash := func(rate float64) float64 {
			workshop.LabourRate = rate
			e, err := evaluate.New(&workshop, evaluate.Options{Points: points})
			if err != nil {
				t.Fatal(err)
			}
			s, err := e.Assess(l)
			if err != nil {
				t.Fatal(err)
			}
			d := l.Deal(&workshop)
			low, high := d.At(100000), d.At(200000)
			near(t, "what the bid adds", s.Cash(200000)-s.Cash(100000), high.Outlay-low.Outlay)
			// 1,000 of parts at least, what the test costs, and what the bid takes.
			if c := s.Cash(100000); c < low.Outlay+1055 || c > low.Outlay+1455 {
				t.Errorf("cash %.2f, outlay %.2f", c, low.Outlay)
			}
			return s.Cash(100000)
		}
		if a, b := cash(20), cash(200); a != b {
			t.Errorf("points %d: cash %.2f at 20 an hour, %.2f at 200", points, a, b)
		}
	}
}
