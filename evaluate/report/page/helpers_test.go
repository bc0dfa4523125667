package page_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// starter is the built-in shop.
func starter(t testing.TB) *shop.Shop {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	return workshop
}

// readLots reads a list.
func readLots(t testing.TB, workshop *shop.Shop, name, text string) *lots.List {
	t.Helper()
	list, err := lots.ReadList(tabular.NewCSV(name, strings.NewReader(text)), workshop, lots.Reading{})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// sample reads the first lots of the sample sale, all where most is 0.
func sample(t testing.TB, workshop *shop.Shop, most int) *lots.List {
	t.Helper()
	text, err := os.ReadFile("../../../samples/sale.csv")
	if err != nil {
		t.Fatal(err)
	}
	list := readLots(t, workshop, "sale.csv", string(text))
	if most > 0 && len(list.Lots) > most {
		list.Lots = list.Lots[:most]
	}
	return list
}

// sale evaluates a list.
func sale(t testing.TB, workshop *shop.Shop, list *lots.List) *page.Sale {
	t.Helper()
	e, err := evaluate.New(workshop, evaluate.Options{Points: 1024, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	results, errs, err := e.All(context.Background(), list.Lots, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	evaluate.Rank(results, bid.ByMargin)
	return &page.Sale{List: "sale.csv", Evaluator: e, Screen: &report.Screen{
		Results: results, Rejected: list.Problems, Shop: workshop, Seed: 1, Points: 1024, Notices: list.Notices,
	}}
}

func html(t testing.TB, s *page.Sale) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.HTML(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// whole is the sample sale, evaluated and written once. The result is shared: it is not to be changed.
func whole(t testing.TB) (*page.Sale, string) {
	t.Helper()
	if wholeSale == nil {
		workshop := starter(t)
		wholeSale = sale(t, workshop, sample(t, workshop, 0))
		wholeBody = string(html(t, wholeSale))
	}
	return wholeSale, wholeBody
}

var (
	wholeSale *page.Sale
	wholeBody string
)

// easy is a lot of the sample sale with much to ask at the car that is probed in a second, where some take ten; in
// short runs, which tap no form, one that is quicker still.
func easy() string {
	if testing.Short() {
		return "20"
	}
	return "26"
}

// probed are the probes made by now, by the numbers of the lots: one takes seconds.
var probed = map[string]*report.Probes{}

// probes probes lots of the sample sale. The result is shared: it is not to be changed.
func probes(t testing.TB, numbers ...string) *report.Probes {
	t.Helper()
	key := strings.Join(numbers, " ")
	if ps := probed[key]; ps != nil {
		return ps
	}
	workshop := starter(t)
	list := sample(t, workshop, 0)
	ps := &report.Probes{Currency: workshop.Currency, Seed: 1, Points: 1024}
	for _, n := range numbers {
		lot, err := list.Find(n)
		if err != nil {
			t.Fatal(err)
		}
		p, err := probe.Run(workshop, evaluate.Options{Points: 1024, Seed: 1}, lot)
		if err != nil {
			t.Fatal(err)
		}
		ps.Probes = append(ps.Probes, p)
	}
	probed[key] = ps
	return ps
}

var (
	halfwayBuild   *report.Reforecast
	halfwayHistory []reforecast.Moment
)

// halfway is the sample build that stopped half way, with its history. The result is shared: it is not to be changed.
func halfway(t testing.TB) (*report.Reforecast, []reforecast.Moment) {
	t.Helper()
	if halfwayBuild == nil {
		halfwayBuild, halfwayHistory = readHalfway(t)
	}
	return halfwayBuild, halfwayHistory
}

func readHalfway(t testing.TB) (*report.Reforecast, []reforecast.Moment) {
	t.Helper()
	in, err := os.Open("../../../samples/half/tarnrake.json")
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := in.Close(); err != nil {
			t.Fatal(err)
		}
	}()
	frozen, err := build.Read("tarnrake.json", in)
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile("../../../samples/half/ledger.csv")
	if err != nil {
		t.Fatal(err)
	}
	oneBuild := ledger(t, string(text))[0]
	f, err := reforecast.New(frozen)
	if err != nil {
		t.Fatal(err)
	}
	progress, _ := reforecast.Read(oneBuild, f.Shop().LabourRate, oneBuild.Entries[len(oneBuild.Entries)-1].Date)
	now, err := f.Forecast(progress, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	moments := page.MostMoments
	if testing.Short() {
		moments = 3 // each is a forecast
	}
	history, err := f.History(oneBuild, moments)
	if err != nil {
		t.Fatal(err)
	}
	return &report.Reforecast{Build: frozen.Build, Lot: f.Lot(), Forecast: now, LabourRate: f.Shop().LabourRate,
		Currency: f.Shop().Currency, Seed: frozen.Seed, Points: frozen.Points}, history
}

func ledger(t testing.TB, text string) []*build.Build {
	t.Helper()
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(text)))
	if err != nil || len(l.Problems) > 0 {
		t.Fatal(err, l)
	}
	return l.Builds
}

// finished freezes lots of the sample sale, makes a ledger in which each job costs
// what its estimate says times a factor, and reviews them.
func finished(t testing.TB, numbers ...string) *report.Review {
	t.Helper()
	workshop := starter(t)
	list := sample(t, workshop, 0)
	e, err := evaluate.New(workshop, evaluate.Options{Points: 1024, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(7, 7))
	var rows strings.Builder
	rows.WriteString("build,date,zone,class,grade,what,spend,hours,state\n")
	var all []*build.Frozen
	for i, n := range numbers {
		lot, err := list.Find(n)
		if err != nil {
			t.Fatal(err)
		}
		f, err := build.Freeze(e, lot, 200000, "build "+n, "test")
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, f)
		fmt.Fprintf(&rows, "build %s,2026-01-%02d,,,,hammer,2000,,\n", n, i+1)
		for _, m := range lot.Code.Marks() {
			for _, s := range f.Predicted.Spots {
				if s.Spot() == m.Spot && s.Chance > 0.5 {
					fmt.Fprintf(&rows, "build %s,2026-02-%02d,%s,%s,,jobs,%.2f,3,done\n", n, i+1, m.Zone, m.Class.Letter(),
						s.P50*(0.5+1.2*rng.Float64()))
				}
			}
		}
		fmt.Fprintf(&rows, "build %s,2026-02-20,roof,c,2,a dent nobody saw,180,2,done\nbuild "+
			"%s,2026-03-%02d,,,,sale,%.0f,,\n", n, n, i+1, f.Predicted.Resale.P50)
	}
	builds := ledger(t, rows.String())
	r := &report.Review{Currency: workshop.Currency, Aside: []report.Aside{{Build: "build 99", Lot: "99",
		Reason: "it is not finished: the ledger has no row with what = sale"}}}
	for i, f := range all {
		o, err := build.Compare(f, builds[i])
		if err != nil {
			t.Fatal(err)
		}
		r.Outcomes = append(r.Outcomes, o)
	}
	if r.Calibration, err = build.Calibrate(r.Outcomes); err != nil {
		t.Fatal(err)
	}
	return r
}

// written is what a command would write as JSON.
func written(t testing.TB, r interface{ JSON(io.Writer) error }) map[string]any {
	t.Helper()
	var b bytes.Buffer
	if err := r.JSON(&b); err != nil {
		t.Fatal(err)
	}
	var v map[string]any
	if err := json.Unmarshal(b.Bytes(), &v); err != nil {
		t.Fatal(err)
	}
	return v
}
