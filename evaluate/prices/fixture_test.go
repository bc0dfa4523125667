package prices

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
	"time"
)

// The fixture in testdata/fixture, rows and expected figures alike, was made by a second implementation of
// METHOD.md 15 in Python with NumPy and SciPy, written apart from this one. All of it is invented.

type row map[string]string

func readRows(t testing.TB, file string) []row {
	t.Helper()
	f, err := os.Open("testdata/fixture/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []row
	for _, line := range lines[1:] {
		r := row{}
		for i, name := range lines[0] {
			r[name] = line[i]
		}
		out = append(out, r)
	}
	return out
}

func (r row) number(t testing.TB, column string) float64 {
	t.Helper()
	if r[column] == "" {
		return 0
	}
	x, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func (r row) day(t testing.TB, column string) time.Time {
	t.Helper()
	if r[column] == "" {
		return time.Time{}
	}
	d, err := time.Parse(time.DateOnly, r[column])
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func answer(text string) Answer {
	switch text {
	case "yes":
		return Yes
	case "no":
		return No
	}
	return Unknown
}

func (r row) lot(t testing.TB) Lot {
	l := Lot{Make: r["make"], Model: r["model"], Segment: r["segment"], Year: int(r.number(t, "year")),
		Category: r["category"],
		Value:    r.number(t, "value"), Guide: r.number(t, "guide"), Site: r["site"], Starts: answer(r["starts"]),
		Keys:    answer(r["keys"]),
		VATPlus: r["vat"] == "plus", SaleDate: r.day(t, "sale_date")}
	if r["odometer"] != "" {
		l.Miles = Some(r.number(t, "odometer"))
	}
	if r["repair_share"] != "" {
		l.Repair = Some(r.number(t, "repair_share") * l.Value)
	}
	return l
}

func fixture(t testing.TB) (adverts []Advert, results []Result, builds []Build) {
	for i, r := range readRows(t, "adverts.csv") {
		adverts = append(adverts, Advert{Line: i + 2, Make: r["make"], Model: r["model"], Segment: r["segment"],
			Year: int(r.number(t, "year")), Miles: r.number(t, "miles"), Asked: r.number(t, "asked"), Got: r.number(t, "got"),
			Listed: r.number(t, "listed"), Marked: r["marked"], FirstSeen: r.day(t, "first_seen"), LastSeen: r.day(t,
				"last_seen"),
			Sold: r.day(t, "sold")})
	}
	for i, r := range readRows(t, "results.csv") {
		x := Result{Lot: r.lot(t), Line: i + 2, Number: r["lot"], Hammer: r.number(t, "hammer"), Stop: r.number(t,
			"stop"), Won: answer(r["won"])}
		if r["result"] == "withdrawn" {
			x.Outcome = Withdrawn
		}
		results = append(results, x)
	}
	for i, r := range readRows(t, "builds.csv") {
		builds = append(builds, Build{Line: i + 2, Name: r["build"], SaleDate: r.day(t, "sale_date"),
			Predicted: r.number(t, "predicted"),
			MarginSD:  r.number(t, "margin_sd"), RepairSD: r.number(t, "repair_sd"), U: r.number(t, "u"),
			Realised: r.number(t, "realised")})
	}
	return adverts, results, builds
}

// fixtureSettings are what the second implementation's figures were worked out with.
func fixtureSettings() Settings {
	s := DefaultSettings()
	s.AsOf = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	s.ValueSpread = map[string]float64{"city": 0.08, "family": 0.08, "executive": 0.09, "prestige": 0.13}
	s.Markers = []Marker{{"S", "*", 0.20, 0.27, 0.38, 8}, {"N", "*", 0.14, 0.20, 0.28, 10}}
	s.Selection = [3]float64{-50, 0.75, 0.25}
	return s
}

func fitFixture(t testing.TB) *Model {
	t.Helper()
	adverts, results, builds := fixture(t)
	m, err := Fit(adverts, results, builds, fixtureSettings())
	if err != nil {
		t.Fatal(err)
	}
	return m
}

type expectedFit struct {
	Count                     int
	Weight, Gap, S, Df, Least float64
}

type expectedLot struct {
	Clean, Marker, Price []float64
	Value, Chance, Gain  float64
}

type expectedAll struct {
	Adverts, Rounds int
	SD              float64
	Common          []float64
	Lots            map[string]expectedLot
	Results         map[string]expectedFit
	Told            []float64
	ToldSD          []float64 `json:"told_sd"`
}

func expected(t testing.TB) expectedAll {
	t.Helper()
	text, err := os.ReadFile("testdata/fixture/expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var e expectedAll
	if err := json.Unmarshal(text, &e); err != nil {
		t.Fatal(err)
	}
	return e
}

// near checks figures to a relative and absolute 1e-6.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if !(math.Abs(got-want) <= 1e-6*max(1, math.Abs(want))) {
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}

func nearAll(t *testing.T, what string, got, want []float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %d figures, want %d", what, len(got), len(want))
		return
	}
	for i := range got {
		near(t, what+" "+strconv.Itoa(i), got[i], want[i])
	}
}

func TestFitAgreesWithTheSecondImplementation(t *testing.T) {
	m, want := fitFixture(t), expected(t)
	cars := 0
	for _, n := range m.market.count {
		cars += n
	}
	if cars != want.Adverts || m.market.rounds != want.Rounds {
		t.Errorf("%d cars in %d rounds, want %d in %d", cars, m.market.rounds, want.Adverts, want.Rounds)
	}
	near(t, "scale of the adverts' error", math.Sqrt(m.market.error2), want.SD)
	nearAll(t, "shared coefficient", m.market.arrow.mu[:6], want.Common)
	for name, h := range map[string]*hammers{"guide": m.guided, "no guide": m.bare} {
		w := want.Results[name]
		least := 1.0
		for _, r := range h.used {
			least = min(least, r.plausible)
		}
		if len(h.used) != w.Count {
			t.Errorf("%s: %d results, want %d", name, len(h.used), w.Count)
		}
		near(t, name+": weight", h.total, w.Weight)
		near(t, name+": gap", h.gap, w.Gap)
		near(t, name+": s", math.Sqrt(h.fit.s2()), w.S)
		near(t, name+": df", h.fit.df(), w.Df)
		near(t, name+": least g over its own size", least/w.Least, 1)
	}
	told := m.Told()
	nearAll(t, "told", []float64{told.A, told.B, told.R}, want.Told)
	nearAll(t, "told, scales", told.Scales[:], want.ToldSD)
}

func TestLotsAgreeWithTheSecondImplementation(t *testing.T) {
	m, want := fitFixture(t), expected(t)
	compared := 0
	for _, r := range readRows(t, "lots.csv") {
		l, w := r.lot(t), want.Lots[r["lot"]]
		l.MeanDays = 40
		what := "lot " + r["lot"]
		v, err := m.Value(&l)
		if (err != nil) != (w.Clean == nil) {
			t.Errorf("%s: error %v, want figures %v", what, err, w.Clean)
			continue
		}
		k, markerErr := m.Marker(l.Category, l.Segment)
		if markerErr != nil {
			t.Fatal(markerErr)
		}
		nearAll(t, what+" marker", k.Points[:], w.Marker)
		if err != nil {
			continue
		}
		compared++
		nearAll(t, what+" clean", []float64{v.Centre, math.Sqrt(v.CarVar), v.Spread}, w.Clean)
		value := l.Value
		if value == 0 {
			value = v.Mean
		}
		near(t, what+" value", value, w.Value)
		rho := r.number(t, "repair_share")
		if r["repair_share"] != "" {
			l.Repair = Some(rho * value)
		}
		p, err := m.Price(&l)
		if err != nil {
			t.Fatal(err)
		}
		nearAll(t, what+" price", []float64{p.Location, p.Scale, p.DF}, w.Price)
		near(t, what+" chance", p.WinChance(0.35*value), w.Chance)
		s := m.Selection(value, 0.4*rho*value, 0, &p)
		margin := func(h float64) float64 { return s.Corrected(h, value*0.8*(1-rho)-900-1.08*h) }
		near(t, what+" gain", p.ExpectedGain(margin, 25*math.Floor(0.4*value/25), 25), w.Gain)
	}
	if compared != 12 {
		t.Errorf("%d lots compared, want 12", compared)
	}
}

func TestMistypedRowsAreNamed(t *testing.T) {
	m := fitFixture(t)
	var got []string
	for _, n := range m.Notices() {
		if n.Kind == Mistyped {
			got = append(got, n.String())
		}
	}
	want := []string{
		"adverts.csv:7: asked: 157,900 is 9 times what the others say; it hardly counts: mistyped?",
		"results.csv:22: hammer: 12,750 is 8 times what the others say; it hardly counts: mistyped?",
	}
	for _, w := range want {
		found := false
		for _, g := range got {
			found = found || g == w
		}
		if !found {
			t.Errorf("no notice %q", w)
		}
	}
}
