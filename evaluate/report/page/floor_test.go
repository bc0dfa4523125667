package page_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/floor"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/browsertest"
	"wreckoner/evaluate/report/page"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/year"
)

// workshopSample reads the sample workshop; more are rows for its ledger.
func workshopSample(t testing.TB, more string) ([]*build.Frozen, *build.Ledger) {
	t.Helper()
	paths, err := filepath.Glob("../../../samples/floor/*.json")
	if err != nil || len(paths) == 0 {
		t.Fatal(err, paths)
	}
	var frozen []*build.Frozen
	for _, path := range paths {
		r, err := os.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := build.Read(path, r)
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if err != nil {
			t.Fatal(err)
		}
		frozen = append(frozen, f)
	}
	text, err := os.ReadFile("../../../samples/floor/ledger.csv")
	if err != nil {
		t.Fatal(err)
	}
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(string(text)+more)))
	if err != nil {
		t.Fatal(err)
	}
	return frozen, l
}

func openFloor(t testing.TB, more string) *report.Floor {
	t.Helper()
	frozen, l := workshopSample(t, more)
	f, said, err := floor.Whole(frozen, l, nil, floor.Settings{AsOf: time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC), Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return &report.Floor{Floor: f, Said: said, Currency: "GBP"}
}

func soldYear(t testing.TB) *report.Year {
	t.Helper()
	frozen, l := workshopSample(t, "")
	r := &report.Year{Currency: "GBP"}
	var cars []year.Car
	for _, f := range frozen {
		b, ok := l.Build(f.Build)
		if !ok || !b.Finished() {
			r.Open++
			continue
		}
		o, err := build.Compare(f, b)
		if err != nil {
			t.Fatal(err)
		}
		c, err := year.Sold(o)
		if err != nil {
			t.Fatal(err)
		}
		cars = append(cars, c)
	}
	var err error
	if r.Year, err = year.New(cars, year.Costs(l), year.Settings{Threshold: 90000, SaleEvery: 7}); err != nil {
		t.Fatal(err)
	}
	return r
}

// hostileRow names a part, a supplier and an invoice that would break a page.
const hostileRow = "321 carrik,2026-03-01,side-near,c,3,\"<script>document.title='owned'</script>\",10,,open,call " +
	"Mr Quennell," +
	"2026-03-02,\"<b>K&7</b>\",\"\"\"</bdi><script>document.title='owned'</script>\",\"<img src=x onerror=alert(1)>\"\n"

func htmlOf(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The notes of the sample's ledger name a seller and a buyer: no form shows them.
func TestNamesOfPeopleAreOnNoPage(t *testing.T) {
	if testing.Short() {
		t.Skip("a floor and a year are made for it, a second")
	}
	f, y := openFloor(t, hostileRow), soldYear(t)
	forms := map[string]func(io.Writer) error{
		"floor page": func(w io.Writer) error {
			return page.Floor(w,
				f)
		}, "year page": func(w io.Writer) error { return page.Year(w, y) },
		"floor JSON": f.JSON, "year JSON": y.JSON,
		"floor CSV": func(w io.Writer) error {
			return f.Records().CSV(w,
				true)
		}, "year CSV": func(w io.Writer) error { return y.Records().CSV(w, true) },
		"floor screen": func(w io.Writer) error {
			return f.Document(80).Terminal(w,
				report.Style{})
		}, "year screen": func(w io.Writer) error { return y.Document(80).Terminal(w, report.Style{}) },
		"floor Markdown": func(w io.Writer) error { return f.Document(80).Markdown(w) },
		"year Markdown":  func(w io.Writer) error { return y.Document(80).Markdown(w) },
	}
	for name, write := range forms {
		text := string(htmlOf(t, write))
		for _, person := range []string{"Oddy", "Pemble", "Quennell"} {
			if strings.Contains(text, person) {
				t.Errorf("%s names %s", name, person)
			}
		}
		if strings.HasSuffix(name, "page") && strings.Contains(text, "<script>document.title") {
			t.Errorf("%s: a text of the ledger is markup", name)
		}
		for _, line := range strings.Split(text, "\n") {
			if strings.HasSuffix(name, "screen") && len([]rune(line)) > 80 {
				t.Errorf("%s: %d columns: %s", name, len([]rune(line)), line)
			}
		}
	}
}

// The pages at phone and desk width, dark and light, and on paper.
func TestFloorAndYearInABrowser(t *testing.T) {
	b := browser(t)
	f, y := openFloor(t, ""), soldYear(t)
	hostiles := openFloor(t, hostileRow)
	for name, body := range map[string][]byte{
		"floor": htmlOf(t, func(w io.Writer) error { return page.Floor(w, f) }), "year": htmlOf(t,
			func(w io.Writer) error { return page.Year(w, y) }),
		"hostile floor": htmlOf(t, func(w io.Writer) error { return page.Floor(w, hostiles) }),
	} {
		for view, v := range twoViews() {
			t.Run(name+" "+view, func(t *testing.T) {
				p := b.Show(t, body, v)
				p.OpenDetails(t)
				for _, fault := range p.Faults(t) {
					t.Error(fault)
				}
				if title := browsertest.Eval[string](t, p, "document.title"); title == "owned" {
					t.Error("a text of the ledger ran as a script")
				}
			})
		}
		t.Run(name+" on paper", func(t *testing.T) {
			pages, err := browsertest.Pages(b.Show(t, body, browsertest.View{}).PDF(t))
			if most := map[string]int{"floor": 3, "hostile floor": 4, "year": 6}[name]; err != nil || pages < 1 || pages > most {
				t.Errorf("%d pages, at most %d: %v", pages, most, err)
			}
		})
	}
}
