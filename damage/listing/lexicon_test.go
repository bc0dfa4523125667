package listing

import (
	"encoding/csv"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wreckoner/damage"
)

func TestRowFaultsNameTheRowAndWhatToWrite(t *testing.T) {
	good := Row{Words: "bonnet|hood", Kind: "part", Means: "nose", Class: "c", Grade: "2"}
	if _, err := New(withRoles(t, good)); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		change func(*Row)
		column string
		says   string
	}{
		{"unknown kind", func(r *Row) { r.Kind = "panel" }, "kind", "write one of part"},
		{"no words", func(r *Row) { r.Words = "bonnet| " }, "words", "write words"},
		{"unknown place", func(r *Row) { r.Means = "bonnet" }, "means", "write a zone such as nose"},
		{"blank place", func(r *Row) { r.Means = "" }, "means", "a part needs it"},
		{"unknown class", func(r *Row) { r.Class = "x" }, "class", "write s, c, r, m or e"},
		{"grade 5", func(r *Row) { r.Grade = "5" }, "grade", "from 1 to 4"},
		{"chance 0.4", func(r *Row) { r.Chance = "0.4" }, "chance", "from 1 to 99"},
		{"level of a filler", func(r *Row) { *r = Row{Words: "the", Kind: "filler", Level: "2"} }, "level", "leave it blank"},
		{"position", func(r *Row) { *r = Row{Words: "left", Kind: "position", Means: "port"} }, "means", "write near, off"},
		{"extra", func(r *Row) { *r = Row{Words: "runs", Kind: "extra", Means: "starts"} }, "means", "such as starts=no"},
		{"link", func(r *Row) { *r = Row{Words: "und", Kind: "link", Means: "und"} }, "means", "write and, or, but or to"},
		{"area", func(r *Row) { *r = Row{Words: "middle", Kind: "area", Class: "c", Grade: "2", Role: "middle"} },
			"role", "write one of nose"},
		{"role of another kind", func(r *Row) { r.Role = "kerb" }, "role", "not a role of a part"},
		{"role of a hedge", func(r *Row) { *r = Row{Words: "maybe", Kind: "hedge", Role: "of"} }, "role", "leave it blank"},
		{"moving event", func(r *Row) { r.Kind, r.Means = "event", "corner" }, "means", "needs a zone"},
		{"harm without class", func(r *Row) { *r = Row{Words: "bent", Kind: "harm", Grade: "2"} }, "class",
			"needs the class"},
		{"two kinds", func(r *Row) { *r = Row{Words: "hood", Kind: "filler"} }, "words", "already a part"},
		{"two parts", func(r *Row) { r.Words = "lid|hood|glass" }, "words", "already another part"},
	} {
		bad := good
		tt.change(&bad)
		bad.Line = 7
		_, err := New(append(withRoles(t, good), bad))
		var fault *Fault
		if !errors.As(err, &fault) || fault.Line != 7 || fault.Column != tt.column || !strings.Contains(fault.Problem,
			tt.says) {
			t.Errorf("%s: %v, want line 7, column %s, ...%s...", tt.name, err, tt.column, tt.says)
		}
	}
	if _, err := New(nil); err == nil {
		t.Error("an empty lexicon: no error")
	}
}

func TestStarterFileIsWhatColumnsSay(t *testing.T) {
	rows, err := csv.NewReader(strings.NewReader(StarterCSV())).ReadAll()
	if err != nil || !slices.Equal(rows[0], columns) {
		t.Fatalf("header %v, err %v, want %v", rows[0], err, columns)
	}
	t.Logf("%d rows, %d words and phrases", len(rows)-1, len(Starter().entries))
}

// An edited lexicon changes what is read.
func TestRowsAreAllThereIs(t *testing.T) {
	l, err := New(withRoles(t,
		Row{Words: "frunk", Kind: "part", Means: "nose", Class: "c", Grade: "2"},
		Row{Words: "frunk", Kind: "part", Means: "nose", Class: "e", Grade: "1", Level: "3", Chance: "25"},
		Row{Words: "bashed", Kind: "harm", Level: "3"},
	))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ text, want string }{
		{"frunk", "nose c2"},
		{"bashed frunk", "nose c3 e1?25"},
		{"bonnet", ""},
	} {
		if got := l.Read(tt.text).Code.String(); got != tt.want {
			t.Errorf("%q reads %q, want %q", tt.text, got, tt.want)
		}
	}
}

// Trade facts: common practice, no source.
func TestRead(t *testing.T) {
	for _, tt := range []struct{ text, want string }{
		// Ways to write a corner.
		{"n/s/f wing", "front-near c2"},
		{"N/S/F WING", "front-near c2"},
		{"nsf wing", "front-near c2"},
		{"n.s.f. wing", "front-near c2"},
		{"N/S front wing", "front-near c2"},
		{"near-side front wing", "front-near c2"},
		{"near side wing", "front-near c2"},
		{"passenger side wing", "front-near c2"},
		{"left front fender", "front-near c2"},
		{"lhf wing", "front-near c2"},
		{"wing n/s", "front-near c2"},
		{"wing on the nearside", "front-near c2"},
		{"rhr quarter panel", "rear-off c2"},
		{"o/s rear wing", "rear-off c2"},
		{"rear quarter offside", "rear-off c2"},
		// Lists.
		{"coolant dripping underneath", "nose m1; bay m1?40"},
		{"oil leaking from underneath, tailgate dented", "tail c2; bay m1"},
		{"n/s wing, door and sill", "front-near c2; side-near s2 c2"},
		{"wing, door and sill all nearside", "front-near c2; side-near s2 c2"},
		{"nearside: wing, door", "front-near c2; side-near c2"},
		{"front and rear bumpers scuffed", "nose c1 c2?45; tail c1 c2?45"},
		{"bumper front and rear scuffed", "nose c1 c2?45; tail c1 c2?45"},
		{"bumper, bonnet and wing n/s scratched", "nose c1 c2?45; front-near c1 c2?45"},
		{"light scratches to bumper, bonnet", "nose c1"},
		{"both front wings dented", "front-near c2; front-off c2"},
		{"wings x 2 dented", "front-near c2; front-off c2"},
		{"n/s/f and o/s/r wheels bent", "front-near m2; rear-off m2"},
		// A side that nobody said.
		{"door dented", "side-near c2?50; side-off c2?50"},
		// Negation and its scope.
		{"no airbags deployed, bumper cracked", "nose c2; cabin r2-"},
		{"airbags not deployed", "cabin r2-"},
		{"airbags intact and bonnet dented", "nose c2; cabin r2-"},
		{"airbags have not gone off", "cabin r2-"},
		{"roof ok", "roof c1-"},
		{"no damage to engine or gearbox", "bay m3-"},
		{"no engine or gearbox damage", "bay m3-"},
		{"no front bumper", "nose c3"},
		{"doors, roof and boot all fine", "side-near c2-; side-off c2-; tail c2-; roof c1-"},
		{"bumper dented, chassis legs straight", "nose s2- c2"},
		{"bumper dented, no structural damage", "nose s2- c2"},
		{"no structural damage", ""},
		{"bumper scuffed but bonnet ok", "nose c1 c2-"},
		// Said outweighs inferred; damage outweighs its absence.
		{"front end smashed", "nose s1?45 s2?60 s3?35 c4 m1?50"},
		{"front end smashed, chassis legs straight", "nose s1?45 s2- c4 m1?50"},
		{"no structural damage, o/s/f chassis leg bent, bumper", "nose s2- c2; front-off s2"},
		// Hedges.
		{"possible chassis leg damage n/s/f", "front-near s2?"},
		{"sump may be cracked", "under m1?"},
		{"radiator bent, suspect chassis leg", "nose s2?70 m1; bay m1?25"},
		{"chassis leg bent?", "nose s2?"},
		// Restraints.
		{"bags blown", "cabin r2"},
		{"driver and passenger airbags", "cabin r2"},
		{"side and curtain bags deployed", "cabin r3"},
		{"all airbags deployed", "cabin r4"},
		{"seat belts locked", "cabin r1"},
		// The whole car.
		{"burnt out", "whole s3?45 c4 r4?45 m4 e4"},
		{"burnt", "whole s3?45 c4 r4?45 m4 e4"},
		{"flood line to the seats", "whole c3 m2?40 e3"},
		// Spelling.
		{"bonet and bumber", "nose c3"},
		{"airbag deloyed", "cabin r2"},
		{"rear quater n/s", "rear-near c2"},
		{"windscrean cracked", "cabin c2"},
		{"suspention bent osf", "front-off m2"},
		// Nobody looked: suspected at most.
		{"sensors not tested", "nose e1?25; tail e1?25"},
		{"bumper scuffed, sensors not tested", "nose c1 c2?45 e1?25"},
		{"traction battery not tested", "under e4?25"},
		{"n/s doors dented, sill behind them not seen", "side-near s2?25 c2 c3?45"},
		{"cabin not photographed", ""},
		{"not tested. front bumper damaged", "nose c2"},
		{"no battery warning shown", ""},
		{"warning lamps on", "bay e1?45"},
		// Put right since, and still to do.
		{"dented wing has been replaced", ""},
		{"bonnet and both wings replaced, bumper cracked", "nose c2"},
		{"needs a new bonnet", "nose c3"},
		// The body is straight; the whole of an end.
		{"engine seized, body straight", "bay m4"},
		{"front hit, body straight", "nose s1?45 s2- c3"},
		{"impact to rear pushing boot floor up", "tail s2 c3"},
		{"tail hit", "tail s1?45 c3"},
		{"n/s rear lamp broken, wing beside it", "rear-near c2; tail c3"},
		{"front crushed, n/s leg to section", "nose s3 c4 m1?50"},
		{"n/s chassis leg bent", "front-near s2"},
		{"floor dented behind the n/s sill", "under s2"},
		{"roof: nil", "roof c1-"},
		{"1) bonnet dented 2) n/s wing dented", "front-near c2; nose c2"},
		{"o/s wing, o/s quarter", "front-off c2; rear-off c2"},
		// One clause runs into the next without a comma.
		{"front bumper damaged no airbags", "nose c2; cabin r2-"},
		{"front damaged no airbags", "nose s1?45 c3; cabin r2-"},
		{"scratched o/s door dented o/s/f wing", "front-off c2; side-off c1 c2?45"},
		{"scratched o/s/f wing and o/s door", "front-off c1 c2?45; side-off c1 c2?45"},
		{"roof ok boot lid dented", "tail c2; roof c1-"},
		{"n/s sill, not seen", "side-near s2?25"},
		{"o/s sill crushed", "side-off s3"},
		{"engine bay flooded", "bay m2 e2"},
		{"front crushed up to the seats", "nose s1?45 s2?60 s3?35 c4 m1?50; cabin c3?40"},
		{"airbag in the steering wheel deployed", "cabin r2"},
		{"bumper scuffed not bonnet", "nose c1 c2-"},
		{"bent chassis, front", "nose s2"},
		{"n/s/f hit a kerb", "front-near m2?60"},
		{"no damage to the rear, front bumper only", "nose c2; tail c1-"},
		{"nothing structural, just the wing and bumper n/s/f", "nose s2- c2; front-near s2- c2"},
		{"nothing underneath, bonnet dented", "nose c2; under s2-"},
		// Nothing of use.
		{"", ""},
		{"lovely car, must be seen", ""},
		{"undamaged", ""},
	} {
		want, err := damage.Parse(tt.want)
		if err != nil {
			t.Errorf("%q: %v", tt.text, err)
			continue
		}
		got := Starter().Read(tt.text)
		if got.Code.String() != want.String() {
			t.Errorf("%q reads %q, want %q", tt.text, got.Code, want)
		}
		if len(got.Unknown) > 0 {
			t.Errorf("%q: unknown %q", tt.text, got.Unknown)
		}
	}
}

func TestExtras(t *testing.T) {
	for _, tt := range []struct {
		text string
		want map[string]string
	}{
		{"starts and drives", map[string]string{"starts": "yes"}},
		{"won't start", map[string]string{"starts": "no"}},
		{"non-runner, no keys", map[string]string{"starts": "no", "keys": "no"}},
		{"Keys: yes. Starts: no.", map[string]string{"keys": "yes", "starts": "no"}},
		{"2 keys, no V5", map[string]string{"keys": "yes", "log book": "no"}},
		{"bonnet dented", map[string]string{}},
		{"auxiliary drive off. Recovered to the site", map[string]string{}},
		{"no idea if it starts", map[string]string{}},
		{"keys: unknown", map[string]string{}},
	} {
		if got := Starter().Read(tt.text).Extras; !reflect.DeepEqual(got, tt.want) {
			t.Errorf("%q gives %v, want %v", tt.text, got, tt.want)
		}
	}
}

func TestUnknownWordsAreListedOnceInOrder(t *testing.T) {
	got := Starter().Read("The zorbulator is bent, bonnet dented, quixel and Zorbulator 2019").Unknown
	if want := []string{"zorbulator", "quixel"}; !slices.Equal(got, want) {
		t.Errorf("unknown %q, want %q", got, want)
	}
}

func TestEvidenceSaysWhichWords(t *testing.T) {
	r := Starter().Read("N/S/F Wing badly dented, front  bumper scuffed. Chassis legs straight; leather seats")
	type line struct{ words, marks, note string }
	var got []line
	for _, e := range r.Evidence {
		var marks []string
		for _, m := range e.Marks {
			marks = append(marks, m.Zone.String()+" "+m.String())
		}
		got = append(got, line{e.Words, strings.Join(marks, ", "), e.Note})
	}
	want := []line{
		{"N/S/F Wing badly dented", "front-near c3", ""},
		{"front bumper scuffed", "nose c1, nose c2?45", ""},
		{"Chassis legs straight", "nose s2-", ""},
		{"seats", "", "named, but no damage is said of it"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("evidence\n%q\nwant\n%q", got, want)
	}
}

// Every mark of a code has words behind it.
func TestEveryMarkHasEvidence(t *testing.T) {
	for _, s := range samples(t) {
		r := Starter().Read(s.text)
		for _, m := range r.Code.Marks() {
			if !slices.ContainsFunc(r.Evidence, func(e Evidence) bool { return slices.Contains(e.Marks, m) && e.Words != "" }) {
				t.Errorf("%d: %q: no words stand behind %s %s", s.line, s.text, m.Zone, m)
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"n/s/f wing, door & sill; no airbags deployed", "n.s.f", "\xff\xfe n/s", "front and rear", "no no not", "??", "x2 x2",
		": : ,",
		"flood water to the seats, engine bay fire, rolled, hail", "bumper, bonnet and both headlamps", "1/4 panel o/s/r",
		"chassis leg bent?",
	} {
		f.Add(seed)
	}
	l := Starter()
	f.Fuzz(func(t *testing.T, text string) {
		r := l.Read(text)
		printed := r.Code.String()
		if printed == "none" {
			t.Fatalf("%q reads as undamaged", text)
		}
		code, err := damage.Parse(printed)
		if err != nil || code.String() != printed {
			t.Fatalf("%q reads %q, which parses as %q, %v", text, printed, code, err)
		}
		for _, w := range r.Unknown {
			if w == "" {
				t.Fatalf("%q: a blank unknown word", text)
			}
		}
	})
}

// A cell of any size is read, in time that grows as its length does.
func BenchmarkRead(b *testing.B) {
	for _, bench := range []struct{ name, text string }{
		{"listing", "N/S/F wing, door and sill dented, front bumper scuffed, no airbags deployed. Starts and drives."},
		{"256 kB", strings.Repeat("nearside wing and door ", 1<<18/23)},
	} {
		b.Run(bench.name, func(b *testing.B) {
			b.SetBytes(int64(len(bench.text)))
			for b.Loop() {
				Starter().Read(bench.text)
			}
		})
	}
}

func TestLongTextReadsAsItsSentences(t *testing.T) {
	want := "front-near c2; side-near c2"
	if got := Starter().Read(strings.Repeat("nearside wing and door ", 5000)).Code.String(); got != want {
		t.Errorf("reads %q, want %q", got, want)
	}
}
