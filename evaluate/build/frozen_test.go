package build_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"reflect"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

const samples = "../../samples/"

// starter returns the starter shop, its settings changed.
func starter(t testing.TB, change func(*shop.Shop)) *shop.Shop {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	if change != nil {
		change(workshop)
	}
	return workshop
}

func readLots(t testing.TB, path string, workshop *shop.Shop) []*evaluate.Lot {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := lots.ReadList(tabular.NewCSV(path, f), workshop, lots.Reading{})
	if err != nil {
		t.Fatal(err)
	}
	return list.Lots
}

func newEvaluator(t testing.TB, workshop *shop.Shop, opt evaluate.Options) *evaluate.Evaluator {
	t.Helper()
	e, err := evaluate.New(workshop, opt)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// byAge lets type, age and wear count in a shop, and marks be misread.
func byAge(s *shop.Shop) {
	s.Ages = []shop.Age{
		{Multipliers: shop.Multipliers{Classes: [damage.ClassCount]float64{1.3, 1.6, 1.3, 1.3, 1.9}, Hours: 1.1},
			Note: "new"},
		{From: 8, Multipliers: shop.Multipliers{Classes: [damage.ClassCount]float64{0.85, 0.7, 0.8, 0.75, 0.6}, Hours: 0.92}},
	}
	s.Segments[1].Classes[damage.Cosmetic] = 0.9
	s.CodingUp[damage.Structural], s.CodingDown[damage.Structural], s.CodingUp[damage.Cosmetic] = 0.1, 0.06, 0.07
	s.Extras = append(s.Extras, shop.Extra{Charge: shop.Charge{Name: "tyres", Amount: stats.Amount{Low: 90, Mid: 230,
		High: 580}}, Wear: true, OdometerFrom: 30000, AgeFrom: 3, Scaled: true, Scale: damage.Mechanical})
}

// aged gives a lot the day of its sale, and some a quote.
func aged(lot *evaluate.Lot, i int) {
	lot.SaleYear, lot.CodedFrom = 2024+i%3, []evaluate.Coded{"", evaluate.FromWords, evaluate.FromSeen}[i%3]
	if marks := lot.Code.Marks(); i%2 == 0 && len(marks) > 0 && marks[0].State == damage.Seen {
		lot.Quotes = []evaluate.Quote{{Item: marks[0].Item, Spend: 333.25, Hours: 1.5, HasHours: i%4 == 0}}
	}
}

// Every other lot of the sale, frozen, written, read and computed again, gives the same figures to the last bit; for a
// shop that is registered for VAT as well, and where ages count and some jobs are quoted.
func TestFrozenGivesTheSameFigures(t *testing.T) {
	every, least := 2, 10
	if testing.Short() {
		every, least = 24, 2 // each is computed three times, for three shops
	}
	for _, kind := range []string{"plain", "registered", "aged"} {
		workshop := starter(t, func(s *shop.Shop) {
			s.VATRegistered, s.Cash = kind == "registered", 9000
			if kind == "aged" {
				byAge(s)
			}
		})
		e := newEvaluator(t, workshop, evaluate.Options{Points: 128, Seed: 7})
		frozen := 0
		for i, lot := range readLots(t, samples+"sale.csv", workshop) {
			if i%every > 0 {
				continue
			}
			if kind == "aged" {
				aged(lot, i/every)
			}
			want, err := e.Evaluate(lot)
			if err != nil {
				t.Fatal(err)
			}
			f, err := build.Freeze(e, lot, 312345, "build "+lot.Number, "test")
			if !want.Evaluated() {
				if err == nil {
					t.Errorf("lot %s is %s and was frozen", lot.Number, want.Status)
				}
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			frozen++
			var file bytes.Buffer
			if err := f.Write(&file); err != nil {
				t.Fatal(err)
			}
			g, err := build.Read("x.json", bytes.NewReader(file.Bytes()))
			if err != nil {
				t.Fatal(err)
			}
			again, err := g.Evaluator()
			if err != nil {
				t.Fatal(err)
			}
			kept, err := g.Lot()
			if err != nil {
				t.Fatal(err)
			}
			got, err := again.Evaluate(kept)
			if err != nil {
				t.Fatal(err)
			}
			if got.Repair != want.Repair || got.Margin != want.Margin || got.Hours != want.Hours || got.Days != want.Days ||
				got.Resale != want.Resale ||
				got.HighestBid != want.HighestBid || got.BidLimit != want.BidLimit || got.Outlay != want.Outlay ||
				!reflect.DeepEqual(got.Warnings, want.Warnings) {
				t.Errorf("lot %s: the figures are not the same:\n%+v\n%+v", lot.Number, got, want)
			}
			second, err := build.Freeze(again, kept, g.Hammer, g.Build, g.Tool)
			if err != nil {
				t.Fatal(err)
			}
			if second.Digest != f.Digest {
				t.Errorf("lot %s: frozen again it is another file", lot.Number)
			}
			sum := money.Pence(0)
			for _, s := range f.Walk.Steps {
				sum += s.Amount
			}
			if sum != f.Walk.Total {
				t.Errorf("lot %s: the walk's steps sum to %s, not %s", lot.Number, sum, f.Walk.Total)
			}
			if x := f.Predicted.Repair.Mean; x < want.Repair.Mean-0.01 || x > want.Repair.Mean+0.01 {
				t.Errorf("lot %s: mean repair %v, predicted %v", lot.Number, want.Repair.Mean, x)
			}
		}
		if frozen < least {
			t.Errorf("only %d lots were frozen", frozen)
		}
	}
}

var frozenSample string

// sample is one frozen estimate as text, frozen once.
func sample(t testing.TB) string {
	t.Helper()
	if frozenSample != "" {
		return frozenSample
	}
	workshop := starter(t, nil)
	e := newEvaluator(t, workshop, evaluate.Options{Points: 64, Seed: 1})
	f, err := build.Freeze(e, readLots(t, samples+"sale.csv", workshop)[0], 200000, "first", "0.1.0")
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if err := f.Write(&file); err != nil {
		t.Fatal(err)
	}
	frozenSample = file.String()
	return frozenSample
}

func TestReadRefusesWhatWasAltered(t *testing.T) {
	text := sample(t)
	for _, tt := range []struct{ why, old, new, want string }{
		{"the price", `"hammer_pence": 200000`, `"hammer_pence": 100000`,
			"was changed after wreckoner wrote it: it no longer matches its checksum"},
		{"the build's name", `"build": "first"`, `"build": "other"`, "it no longer matches its checksum"},
		{"one row of the cost table", `"*,s,1,110,`, `"*,s,1,90,`, "it no longer matches its checksum"},
		{"a field more", `"seed": 1`, `"seed": 1, "luck": 2`, "changed after wreckoner wrote it: json: unknown field"},
		{"another version", `"version": 2`, `"version": 3`,
			"has format version 3, written by wreckoner 0.1.0; this wreckoner reads versions 1 and 2"},
		{"something else", `"format": "wreckoner frozen estimate"`, `"format": "letter"`,
			"is not an estimate; wreckoner freeze writes them"},
		{"cut off", text[len(text)/2:], "", "unexpected end of JSON input"},
		{"a number as text", `"points": 64`, `"points": "64"`, "line 10"},
	} {
		if strings.Count(text, tt.old) != 1 {
			t.Fatalf("%s: %q stands %d times in the file", tt.why, tt.old, strings.Count(text, tt.old))
		}
		_, err := build.Read("corva.json", strings.NewReader(strings.Replace(text, tt.old, tt.new, 1)))
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "corva.json: ") {
			t.Errorf("%s: %v, want %q", tt.why, err, tt.want)
		}
	}
	if _, err := build.Read("list.csv", strings.NewReader("lot,category\n1,N\n")); err == nil ||
		!strings.Contains(err.Error(), "list.csv: line 1") {
		t.Errorf("a lot list: %v", err)
	}
	// Other spaces are no other content.
	var b bytes.Buffer
	if err := json.Compact(&b, []byte(text)); err != nil {
		t.Fatal(err)
	}
	if _, err := build.Read("compact.json", &b); err != nil {
		t.Error(err)
	}
}

// resigned returns the estimate, changed and with a digest that fits.
func resigned(t testing.TB, change func(*build.Frozen)) string {
	t.Helper()
	f, err := build.Read("x", strings.NewReader(sample(t)))
	if err != nil {
		t.Fatal(err)
	}
	change(f)
	f.Digest = ""
	text, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	f.Digest = hex.EncodeToString(sum[:])
	if text, err = json.Marshal(f); err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// edited returns the change of one text in a file of the frozen shop.
func edited(t testing.TB, file, old, text string) func(*build.Frozen) {
	return func(f *build.Frozen) {
		t.Helper()
		n := 0
		for i := range f.Texts {
			for k, line := range f.Texts[i].Lines {
				if f.Texts[i].File == file && strings.Contains(line, old) {
					f.Texts[i].Lines[k] = strings.Replace(line, old, text, 1)
					n++
				}
			}
		}
		if n != 1 {
			t.Fatalf("%s has %d lines with %q", file, n, old)
		}
	}
}

// A version 1 file is read for good: its predictions and its digest are as they were
// written, and it is never written again.
func TestVersion1IsRead(t *testing.T) {
	for _, name := range []string{"101.json", "112.json"} {
		text, err := os.ReadFile("testdata/version1/" + name)
		if err != nil {
			t.Fatal(err)
		}
		var file struct {
			Version   int             `json:"version"`
			Digest    string          `json:"digest"`
			Predicted build.Predicted `json:"predicted"`
		}
		if err := json.Unmarshal(text, &file); err != nil {
			t.Fatal(err)
		}
		f, err := build.Read(name, bytes.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		if file.Version != 1 || f.Version != 1 || f.Method != 0 || f.Digest != file.Digest || !reflect.DeepEqual(f.Predicted,
			file.Predicted) {
			t.Errorf("%s: version %d, method %d, digest %s", name, f.Version, f.Method, f.Digest)
		}
		var out bytes.Buffer
		if err := f.Write(&out); err == nil || out.Len() > 0 {
			t.Errorf("%s was written again", name)
		}
		altered := bytes.Replace(text, []byte(`"hammer_pence": `), []byte(`"hammer_pence": 1`), 1)
		if _, err := build.Read(name, bytes.NewReader(altered)); err == nil || !strings.Contains(err.Error(),
			"it no longer matches its checksum") {
			t.Errorf("%s altered: %v", name, err)
		}
	}
}

// A digest that fits is no proof: what cannot be computed with is refused.
func TestReadRefusesWhatIsUnsound(t *testing.T) {
	for why, change := range map[string]func(*build.Frozen){
		"a zone of its own":        func(f *build.Frozen) { f.Predicted.Spots[0].Zone = "wing" },
		"a grade of its own":       func(f *build.Frozen) { f.Predicted.Candidates[0].Grade = 260 },
		"no quantiles":             func(f *build.Frozen) { f.Predicted.Repair.Quantiles = nil },
		"falling quantiles":        func(f *build.Frozen) { f.Predicted.Margin.Quantiles[0] = 1e9 },
		"a step to nowhere":        func(f *build.Frozen) { f.Walk.Steps[len(f.Walk.Steps)-1].Part = deal.PartRepair },
		"a low above the mid":      edited(t, shop.CostsFile, "*,s,1,110,", "*,s,1,1000000,"),
		"a row without a zone":     edited(t, shop.CostsFile, "*,s,1,110,", ",s,1,110,"),
		"a row on nothing":         edited(t, shop.CostsFile, "*,s,1,110,200,390,3,5,9,4,8,", "*,s,1,110,200,390,3,5,9,4,0,"),
		"a chance above 1":         edited(t, shop.HiddenFile, "nose,s,1,*,0.2,", "nose,s,1,*,2,"),
		"odd points":               func(f *build.Frozen) { f.Points = 100 },
		"a file too few":           func(f *build.Frozen) { f.Texts = f.Texts[1:] },
		"no price":                 func(f *build.Frozen) { f.Hammer = 0 },
		"a code that is none":      func(f *build.Frozen) { f.Kept.Damage = "nose q1" },
		"a fee that starts midway": edited(t, shop.FeesFile, "Marrow Fen,premium,0,", "Marrow Fen,premium,100,"),
		"no hours in a day":        edited(t, shop.SettingsFile, "hours_per_day = 10.0", "hours_per_day = 0.0"),
	} {
		if _, err := build.Read("x.json", strings.NewReader(resigned(t, change))); err == nil ||
			!strings.HasPrefix(err.Error(), "x.json: cannot be used: ") {
			t.Errorf("%s: %v", why, err)
		}
	}
	if _, err := build.Read("x.json", strings.NewReader(resigned(t, func(*build.Frozen) {}))); err != nil {
		t.Error(err)
	}
}

func TestForecastPercentile(t *testing.T) {
	f := build.Forecast{Quantiles: []float64{0, 0, 10, 20}}
	for _, tt := range []struct{ x, want float64 }{
		{-1, 1.0 / 16}, {0, 0.25}, {5, 0.5}, {10, 0.625}, {15, 0.75}, {20, 0.875}, {21, 15.0 / 16},
	} {
		if got := f.Percentile(tt.x); got != tt.want {
			t.Errorf("percentile of %v is %v, want %v", tt.x, got, tt.want)
		}
	}
	if got := f.Quantile(0.75); got != 15 {
		t.Errorf("quantile 0.75 is %v, want 15", got)
	}
}
