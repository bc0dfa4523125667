package sale_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/sale"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

const header = "lot,category,damage,value,guide,site,sale_date,closes,guide low,guide high,opening\n"

func starter(t testing.TB) *shop.Shop {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	return workshop
}

func read(t testing.TB, workshop *shop.Shop, file, rows string) *lots.List {
	t.Helper()
	list, err := lots.ReadList(tabular.NewCSV(file, strings.NewReader(header+rows)), workshop, lots.Reading{})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func open(
	t testing.TB,
	workshop *shop.Shop,
	opt evaluate.Options,
	lists ...*lots.List,
) (*sale.Sale, *evaluate.Evaluator) {
	t.Helper()
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		t.Fatal(err)
	}
	s, err := sale.New(context.Background(), e, lists)
	if err != nil {
		t.Fatal(err)
	}
	return s, e
}

func names(s *sale.Sale) (out []string) {
	for _, e := range s.Entries {
		out = append(out, e.Plan.Name)
	}
	return out
}

// What the plan gets of a lot is what the lot's own evaluation says, in both engines, registered
// for VAT or not.
func TestALotOfThePlan(t *testing.T) {
	for name, points := range map[string]int{"convolved": 0, "simulated": 1024} {
		for _, registered := range []bool{false, true} {
			workshop := starter(t)
			workshop.VATRegistered = registered
			// no cash before it
			workshop.Fixed = slices.DeleteFunc(workshop.Fixed, func(c shop.Charge) bool { return c.AfterSale })
			list := read(
				t,
				workshop,
				"sale.csv",
				"1,N,nose s1 c3 m1?60,9400,2250,Marrow Fen,,,,,\n2,S,tail s2 c3,12400,2600,Tolloway,,,1900,3600,500\n",
			)
			s, e := open(t, workshop, evaluate.Options{Seed: 1, Points: points}, list)
			for i := range s.Entries {
				check(t, name, &s.Entries[i], e)
			}
			p := &s.Entries[1].Plan
			if low, high := p.Hammer.At(
				-1.2815515655446004,
			), p.Hammer.At(
				1.2815515655446004,
			); math.Abs(low-1900) > 1e-6 || math.Abs(high-3600) > 1e-6 ||
				p.Opening != 500 {
				t.Errorf("hammer from %v to %v, opening %v", low, high, p.Opening)
			}
			if low := s.Entries[0].Plan.Hammer.At(-1.2815515655446004); math.Abs(low-0.75*2250) > 1e-6 {
				t.Errorf("guide_spread's low is %v", low)
			}
		}
	}
}

// paid is the outlay, and the tests and extras, of a walk in pounds.
func paid(walk *deal.Workings) float64 {
	sum := money.Pence(0)
	for _, l := range walk.Steps {
		if !l.Subtotal &&
			(l.Part == deal.PartHammer || l.Part == deal.PartFees || l.Part == deal.PartOther) {
			sum -= l.Amount
		}
	}
	return sum.Pounds()
}

func check(t *testing.T, name string, x *sale.Entry, e *evaluate.Evaluator) {
	t.Helper()
	r, p := x.Result, &x.Plan
	step := e.Shop().BidStep.Pounds()
	if p.Limit != r.HighestBid.Pounds() || len(p.Margin) != int(p.Limit/step) {
		t.Fatalf("%s: limit %v with %d steps, highest bid %v", name, p.Limit, len(p.Margin), r.HighestBid)
	}
	assessed, err := e.Assess(r.Lot)
	if err != nil {
		t.Fatal(err)
	}
	for _, j := range []int{1, len(p.Margin) / 2, len(p.Margin)} {
		hammer := money.FromPounds(step * float64(j))
		walk := assessed.Workings(hammer)
		if got := p.Margin[j-1]; math.Abs(got-walk.Total.Pounds()) > 0.30 { // the walk rounds each line
			t.Errorf("%s: margin %v at %v, by the walk %v", name, got, hammer, walk.Total)
		}
		if want := paid(walk) + p.Reserved; math.Abs(p.Tied[j-1]-want) > 0.016 { // three times rounded to a penny
			t.Errorf("%s: %v tied up at %v, want %v", name, p.Tied[j-1], hammer, want)
		}
	}
	// Own hours are no cash: the spend is below the repair.
	if !(p.Spend[0] < p.Spend[1] && p.Spend[1] < p.Reserved && p.Reserved < p.Spend[2] && p.Reserved < r.Repair.P80) {
		t.Errorf("%s: spend %v, reserved %v, repair %v", name, p.Spend, p.Reserved, r.Repair.P80)
	}
	if p.SD != r.Margin.SD || p.Score[1] != r.Margin.P50-r.Margin.Mean {
		t.Errorf("%s: sd %v and score %v of %+v", name, p.SD, p.Score, r.Margin)
	}
	if p.BreakEven < p.Limit {
		t.Errorf("%s: breaks even at %v, below the limit of %v", name, p.BreakEven, p.Limit)
	}
}

// A lot that may not be rebuilt, one that nobody coded and one without a guide are in the sale: the first
// two are never bid on.
func TestLotsNeverBidOn(t *testing.T) {
	workshop := starter(t)
	list := read(t, workshop, "sale.csv", "1,B,nose s1,9400,900,,,,,,\n2,N,,9400,2000,,,,,,\n3,N,tail c2,9400,,,,,,,\n")
	s, _ := open(t, workshop, evaluate.Options{}, list)
	for i, x := range s.Entries {
		if bid := i == 2; (x.Plan.Limit > 0) != bid || x.Plan.Hammer.Known() == bid {
			t.Errorf("lot %s: limit %v, hammer known %v", x.Plan.Name, x.Plan.Limit, x.Plan.Hammer.Known())
		}
	}
	if p := &s.Entries[2].Plan; !(p.SD > 0) || p.Guide != 0 {
		t.Errorf("without a guide: sd %v, guide %v", p.SD, p.Guide)
	}
	if s.Timed || len(s.Notices) != 1 {
		t.Errorf("timed %v, notices %q", s.Timed, s.Notices)
	}
}

func TestClosingOrder(t *testing.T) {
	workshop := starter(t)
	for name, x := range map[string]struct {
		rows     []string
		want     string
		problems []string
		fails    string
	}{
		"times": {rows: []string{"1,N,tail c2,9400,,,,14:05,,,\n2,N,tail c2,9400,,,,13:55,,,\n3,N,tail " +
			"c2,9400,,,,14:05,,,\n"}, want: "2 1 3"},
		"days and times": {rows: []string{"1,N,tail c2,9400,,,,2026-03-05 09:00,,,\n2,N,tail " +
			"c2,9400,,,2026-03-04,13:55,,,\n"}, want: "2 1"},
		"days": {rows: []string{"1,N,tail c2,9400,,,2026-03-05,,,,\n2,N,tail " +
			"c2,9400,,,2026-03-04,,,,\n3,N,tail c2,9400,,,2026-03-04,,,,\n"}, want: "2 3 1"},
		"a blank time": {rows: []string{"1,N,tail c2,9400,,,,14:05,,,\n2,N,tail c2,9400,,,,,,,\n"}, want: "1",
			problems: []string{"a.csv:3: closes: blank, while other lots have a time; fill it in, or leave the column out"}},
		"a blank day": {rows: []string{"1,N,tail c2,9400,,,2026-03-04,,,,\n2,N,tail c2,9400,,,,,,,\n"}, want: "1",
			problems: []string{"a.csv:3: sale_date: blank, while other lots have a day; fill it in, or leave the column out"}},
		"a time alone": {rows: []string{"1,N,tail c2,9400,,,,2026-03-04 14:05,,,\n2,N,tail c2,9400,,,,14:10,,,\n"},
			want: "1", problems: []string{"a.csv:3: closes: 14:10 has no day, while other lots have one; write the day too, " +
				"as in 2026-03-04 14:10"}},
		"two lists": {rows: []string{"1,N,tail c2,9400,,Marrow Fen,2026-03-04,14:05,,,\n",
			"1,N,tail c2,9400,,Tolloway,2026-03-04,13:00,,,\n7,N,tail c2,9400,,Tolloway,2026-03-04,15:00,,,\n"},
			want: "Tolloway:1 Marrow Fen:1 7"},
		"two days": {rows: []string{"1,N,tail c2,9400,,Tolloway,2026-03-11,14:05,,,\n",
			"1,N,tail c2,9400,,Tolloway,2026-03-04,13:00,,,\n"}, want: "Tolloway:2026-03-04:1 Tolloway:2026-03-11:1"},
		"no sites": {rows: []string{"1,N,tail c2,9400,,,,,,,\n", "1,N,tail c2,9400,,,,,,,\n"}, want: "a:1 b:1"},
		"one list untimed": {rows: []string{"1,N,tail c2,9400,,,,14:05,,,\n", "2,N,tail c2,9400,,,,,,,\n"},
			fails: "b.csv has no closing times, and another list has"},
	} {
		t.Run(name, func(t *testing.T) {
			var lists []*lots.List
			for i, rows := range x.rows {
				lists = append(lists, read(t, workshop, string(rune('a'+i))+".csv", rows))
			}
			e, err := evaluate.New(workshop, evaluate.Options{})
			if err != nil {
				t.Fatal(err)
			}
			s, err := sale.New(context.Background(), e, lists)
			if x.fails != "" {
				if err == nil || !strings.Contains(err.Error(), x.fails) {
					t.Fatalf("%v, want %q", err, x.fails)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(names(s), " "); got != x.want {
				t.Errorf("order %q, want %q", got, x.want)
			}
			var got []string
			for _, p := range s.Problems {
				got = append(got, p.Error())
			}
			if !slices.Equal(got, x.problems) {
				t.Errorf("problems %q, want %q", got, x.problems)
			}
		})
	}
}

func TestResults(t *testing.T) {
	workshop := starter(t)
	a := read(
		t,
		workshop,
		"a.csv",
		"1,N,tail c2,9400,,Marrow Fen,2026-03-04,14:05,,,\n25,N,tail c2,9400,,Marrow Fen,2026-03-04,14:10,,,\n",
	)
	b := read(t, workshop, "b.csv", "1,N,tail c2,9400,,Tolloway,2026-03-04,13:00,,,\n")
	s, _ := open(t, workshop, evaluate.Options{}, a, b)
	for name, x := range map[string]struct{ text, want string }{
		"unknown": {"lot,hammer,won\n103,900,no\n", `sold.csv:2: lot: "103" is not in a.csv or b.csv`},
		"twice":   {"lot,hammer,won\n25,900,no\n25,950,no\n", `sold.csv:3: lot: 25 is already on line 2; keep one`},
		"won for nothing": {"lot,hammer,won\n25,,yes\n",
			`sold.csv:2: hammer: blank, but won is yes; write what you paid before fees`},
		"bad price": {"lot,hammer,won\n25,9oo,no\n",
			`sold.csv:2: hammer: "9oo" is not an amount; write 1200 or 1,200.00`},
		"bad won": {"lot,hammer,won\n25,900,maybe\n",
			`sold.csv:2: won: "maybe" is neither yes nor no; write yes or no`},
		"not unique": {"lot,hammer,won\n1,900,no\n",
			`sold.csv:2: lot: 2 lots are called 1; write one of Tolloway:1, Marrow Fen:1`},
		"by site":  {"lot,hammer,won,site\n1,900,no,tolloway\n", ""},
		"by name":  {"lot,hammer,won\ntolloway:1,900,no\nMarrow Fen:2026-03-04:1,,\n", ""},
		"as typed": {"Lot No;Sold for;Ours?;Auction site\nTolloway:1;£900;lost;\n25;not sold;no;\n", ""},
		"won unsold": {"lot,hammer,won\n25,unsold,yes\n",
			`sold.csv:2: hammer: "unsold" is not an amount; write 1200 or 1,200.00`},
		"no number": {"lot,hammer,won\n,900,no\n", `sold.csv:2: lot: is blank; write the lot's number`},
	} {
		r, err := s.ReadSold(tabular.NewCSV("sold.csv", strings.NewReader(x.text)))
		if err != nil {
			t.Fatal(name, err)
		}
		switch {
		case x.want == "" && (len(r.Problems) > 0 || r.Sold[0].Lot != 0 || !r.Sold[0].Heard || r.Sold[0].Hammer != 900):
			t.Errorf("%s: %v, %+v", name, r.Problems, r.Sold)
		case x.want != "" && (len(r.Problems) != 1 || r.Problems[0].Error() != x.want):
			t.Errorf("%s: %v, want %q", name, r.Problems, x.want)
		}
	}
}

// That a lot was sold does not say to whom.
func TestResultsWithoutWon(t *testing.T) {
	s, _ := open(t, starter(t), evaluate.Options{}, read(t, starter(t), "a.csv", "25,N,tail c2,9400,3000,Tolloway,,,,,\n"))
	_, err := s.ReadSold(tabular.NewCSV("sold.csv", strings.NewReader("Lot,Sold for,Sold?\n25,900,yes\n")))
	const want = "sold.csv:1: no column for won; it takes lot, hammer (the price before fees) and won (yes where you " +
		"bought it, else no)"
	if err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// A lot that was bought for more than was left is told with its line.
func TestOverspent(t *testing.T) {
	workshop := starter(t)
	s, _ := open(
		t,
		workshop,
		evaluate.Options{},
		read(t, workshop, "a.csv", "25,N,tail c2,9400,3000,Tolloway,,,,,\n26,N,tail c2,9400,3000,Tolloway,,,,,\n"),
	)
	r, err := s.ReadSold(tabular.NewCSV("sold.csv", strings.NewReader("lot,hammer,won\n25,\"3,000\",yes\n")))
	if err != nil || len(r.Problems) > 0 {
		t.Fatal(err, r.Problems)
	}
	p, err := plan.New(s.Lots(), plan.Resources{Bays: 1, Cash: 2000}, r.Sold, sale.Settings(workshop))
	if err != nil {
		t.Fatal(err)
	}
	said := r.Overspent(s, p.Standing)
	if len(said) != 1 || !strings.HasPrefix(said[0], "sold.csv:2: lot 25 at 3,000 ties up 4,") ||
		!strings.HasSuffix(said[0], ", and 2,000 was left; from here on no money is left") {
		t.Errorf("%q", said)
	}
}

func TestMarketLinkAboveTheWholeSpread(t *testing.T) {
	workshop := starter(t)
	s, _ := open(t, workshop, evaluate.Options{}, read(t, workshop, "a.csv", "1,N,tail c2,9400,,,,,,,\n"))
	if said := s.MarketNotices(workshop); len(said) > 0 {
		t.Errorf("said %q", said)
	}
	workshop.MarketLink = 0.11
	if said := s.MarketNotices(workshop); len(said) != 1 || !strings.Contains(said[0], "family") {
		t.Errorf("said %q", said) // the only lot is a family car
	}
}
