// Command twelve draws the twelve finished builds of samples/builds: what each was expected to cost, frozen by the
// built-in starter, and a ledger of what became of them in a workshop whose jobs all cost 1.3 times what the starter
// says. The seed is 1, the first that was tried; nobody chose among seeds. The same program gives the same bytes.
//
//	go run ./testdata/twelve            writes samples/builds
//	go run ./testdata/twelve -o DIR     writes there
//
// It is run from the top of the repository.
package main

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

const (
	seed   = 1
	dearer = 1.3
	tool   = "0.1.0"
	list   = "samples/builds/sale.csv"
)

// hammers are the prices at which the twelve lots of the list were bought, in the list's order, in pounds.
var hammers = []int{2850, 2700, 2750, 4400, 3150, 3700, 2200, 1950, 3550, 2650, 3400, 2300}

func main() {
	log.SetFlags(0)
	out := flag.String("o", "samples/builds", "the folder to write to")
	flag.Parse()
	if err := run(*out); err != nil {
		log.Fatal(err)
	}
}

func run(out string) error {
	believed, problems, _, err := shop.Read("")
	if err != nil {
		return err
	}
	if len(problems) > 0 {
		return problems[0]
	}
	in, err := os.Open(list)
	if err != nil {
		return err
	}
	defer in.Close()
	cars, err := lots.ReadList(tabular.NewCSV(list, in), believed, lots.Reading{})
	if err != nil {
		return err
	}
	if len(cars.Lots) != len(hammers) {
		return fmt.Errorf("%s has %d lots, and there are %d prices", list, len(cars.Lots), len(hammers))
	}
	e, err := evaluate.New(believed, evaluate.Options{Seed: 1})
	if err != nil {
		return err
	}
	y, err := newYear(believed)
	if err != nil {
		return err
	}
	for i, lot := range cars.Lots {
		hammer := money.Pence(100 * hammers[i])
		name := "sale " + lot.Number
		f, err := build.Freeze(e, lot, hammer, name, tool)
		if err != nil {
			return err
		}
		var text bytes.Buffer
		if err := f.Write(&text); err != nil {
			return err
		}
		if err := tabular.WriteFile(filepath.Join(out, lot.Number+".json"), text.Bytes()); err != nil {
			return err
		}
		bought := time.Date(2025, 1, 9, 0, 0, 0, 0, time.UTC).AddDate(0, 0, 28*i)
		if err := y.build(lot, name, hammer, bought); err != nil {
			return err
		}
	}
	var text bytes.Buffer
	if err := csv.NewWriter(&text).WriteAll(y.rows); err != nil {
		return err
	}
	return tabular.WriteFile(filepath.Join(out, "ledger.csv"), text.Bytes())
}

// A year draws how cars turn out in the workshop as it is.
type year struct {
	e      *evaluate.Evaluator
	random *rand.Rand
	rows   [][]string
}

func newYear(believed *shop.Shop) (*year, error) {
	rows := append([]costs.Row{}, believed.Costs.Rows()...)
	for i := range rows {
		for _, a := range []*stats.Amount{&rows[i].Spend, &rows[i].Hours} {
			a.Low, a.Mid, a.High = dearer*a.Low, dearer*a.Mid, dearer*a.High
		}
	}
	truth := *believed
	var err error
	if truth.Costs, err = costs.New(rows, believed.Costs.Rules()); err != nil {
		return nil, err
	}
	y := &year{random: rand.New(rand.NewPCG(seed, 0))}
	y.rows = [][]string{{"build", "date", "zone", "class", "grade", "what", "spend", "hours", "state", "note"}}
	y.e, err = evaluate.New(&truth, evaluate.Options{Points: 4096, Seed: 1000 + seed})
	return y, err
}

// A row is what a row of the ledger says beside its build and date; "" leaves a cell blank.
type row struct{ zone, class, grade, what, spend, hours, state, note string }

// build draws one simulated car and writes what its ledger says: each job in two rows, what was suspected and is not
// there as clear.
func (y *year) build(lot *evaluate.Lot, name string, hammer money.Pence, bought time.Time) error {
	p, err := y.e.Resolve(lot)
	if err != nil {
		return err
	}
	var totals simulate.Totals
	totals.Sum(y.e.Draws(), p.Case)
	n := y.e.Options().Points
	w := y.random.IntN(n)
	worlds := y.e.Worlds(p, &totals, evaluate.Overrides{})
	total := max(20, int(worlds.Days[w]))
	add := func(day int, r row) {
		y.rows = append(y.rows, []string{name, bought.AddDate(0, 0, day).Format(time.DateOnly),
			r.zone, r.class, r.grade, r.what, r.spend, r.hours, r.state, r.note})
	}
	outlay := p.Deal.Outlay(hammer)
	var transport money.Pence
	for _, line := range outlay.Lines[1:] {
		if line.Name == "transport" || line.Name == "loading and unloading" {
			transport += line.Amount + line.VAT
		}
	}
	add(0, row{what: "hammer", spend: hammer.String()})
	add(0, row{what: "fees", spend: (outlay.Total - outlay.Lines[0].Amount - outlay.Lines[0].VAT - transport).String()})
	add(3, row{what: "transport", spend: transport.String()})
	day := 5
	spend, hours := make([]float64, n), make([]float64, n)
	for _, spot := range totals.Spots() {
		g, kind := charged(&totals, p.Case, spot, int32(w))
		r := row{zone: spot.Zone.String(), class: spot.Class.Letter()}
		if g == 0 {
			if kind == costs.Suspected {
				r.what, r.state = "looked", "clear"
				add(day, r)
			}
			continue
		}
		totals.Spot(y.e.Draws(), p.Case, spot, spend, hours)
		y.job(&day, total-8, r, g, kind, p.Segment.Spend*spend[w], p.Segment.Hours*hours[w], add)
	}
	tested := total - 7
	test := money.Pence(5485)
	add(tested, row{what: "MOT", spend: test.String()})
	add(tested, row{what: "tests, fluids and extras", spend: (money.FromPounds(worlds.Other[w]) - test).String()})
	add(tested+1, row{what: "listed"})
	sale := money.FromPounds(math.Round(worlds.Resale[w]/50) * 50)
	add(total, row{what: "sale", spend: sale.String()})
	add(total, row{what: "selling", spend: money.FromPounds(p.Deal.Selling(sale.Pounds())).String()})
	return nil
}

// what are the first and the last thing bought for a job, by class.
var what = [damage.ClassCount][2]string{
	damage.Structural: {"bench hire and section", "welding wire and seam sealer"},
	damage.Cosmetic:   {"used panels", "paint and clips"},
	damage.Restraint:  {"restraint parts", "connectors"},
	damage.Mechanical: {"parts, used and pattern", "bolts and bushes"},
	damage.Electrical: {"plugs, pins and modules", "heat shrink and tape"},
}

// job writes one job: about two thirds of it in its first row, the rest in its last. day moves on, to latest at most.
func (y *year) job(day *int, latest int, r row, g damage.Grade, kind costs.Kind, pounds, hours float64,
	add func(int, row)) {
	first := 0.55 + 0.25*y.random.Float64()
	class, err := damage.ParseClass(r.class)
	if err != nil {
		panic(err) // it was printed from a class
	}
	quarters := func(x float64) string { return strconv.FormatFloat(math.Round(4*x)/4, 'f', -1, 64) }
	a := r
	a.grade, a.what, a.spend, a.hours = strconv.Itoa(int(g)), what[class][0], money.FromPounds(first*pounds).String(), quarters(first*hours)
	if kind == costs.Hidden {
		a.note = "found when stripped"
	}
	add(min(*day, latest), a)
	b := r
	b.what, b.spend, b.hours, b.state = what[class][1], money.FromPounds((1-first)*pounds).String(), quarters((1-first)*hours), "done"
	*day += 2 + y.random.IntN(3)
	add(min(*day, latest), b)
	*day++
}

// charged returns the grade that is charged at a place in a simulated car and how it came about; 0 and the surest of
// its candidates for none.
func charged(totals *simulate.Totals, c costs.Case, spot damage.Spot, w int32) (g damage.Grade, kind costs.Kind) {
	kind = costs.Hidden
	for i, x := range c {
		if x.Spot != spot {
			continue
		}
		worlds, there := totals.Occurs(i)
		for _, o := range worlds {
			there = there || o == w
		}
		switch {
		case there && x.Grade > g:
			g, kind = x.Grade, x.Kind
		case g == 0 && x.Kind < kind:
			kind = x.Kind
		}
	}
	return g, kind
}
