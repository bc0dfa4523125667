package damage_test

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wreckoner/damage"
)

func TestParsePrintsCanonically(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{"", ""},
		{"  ;; ", ""},
		{"none", "none"},
		{" NONE ", "none"},
		{"nose s3 c2; front-near m2?; cabin r2?70", "nose c2 s3; front-near m2?; cabin r2?70"},
		{"TAIL:C3,S2/e1;", "tail s2 c3 e1"},
		{"nose s2 s3?", "nose s2 s3?"},
		{"nose s3? s2", "nose s2 s3?"},
		{"nose s2 m1-", "nose s2 m1-"},
		{"nose s2 s3-", "nose s2 s3-"},
		{"nose s1? s2? s4?5", "nose s1? s2? s4?5"},
		{"tail c1; nose c2; tail m1", "nose c2; tail c1 m1"},
		{"nose\ts2\n c1", "nose s2 c1"},
		{"nose\u00a0 s2", "nose s2"},
	} {
		code, err := damage.Parse(tt.in)
		if err != nil {
			t.Errorf("Parse(%q): %v", tt.in, err)
			continue
		}
		// Classes print in the order s c r m e.
		want := strings.ReplaceAll(tt.want, "nose c2 s3", "nose s3 c2")
		if got := code.String(); got != want {
			t.Errorf("Parse(%q) prints %q, want %q", tt.in, got, want)
		}
	}
}

func TestBlankIsUncodedAndNoneIsUndamaged(t *testing.T) {
	blank, err := damage.Parse(" ")
	if err != nil || blank.Coded() {
		t.Errorf("blank: coded %v, err %v", blank.Coded(), err)
	}
	none, err := damage.Parse("none")
	if err != nil || !none.Coded() || len(none.Marks()) != 0 {
		t.Errorf("none: coded %v, marks %v, err %v", none.Coded(), none.Marks(), err)
	}
}

func TestParseFaults(t *testing.T) {
	for _, tt := range []struct {
		in     string
		offset int
		text   string
		says   string
	}{
		{"nose s5", 5, "nose s5", "structural grades run from 1 to 4"},
		{"nose s0", 5, "nose s0", "structural grades run from 1 to 4"},
		{"nose c12", 5, "nose c12", "cosmetic grades run from 1 to 4"},
		{"bonnet s2", 0, "bonnet", "not a zone"},
		{"nose x2", 5, "nose x2", "not a mark"},
		{"nose s", 5, "nose s", "not a mark"},
		{"nose s2?0", 5, "nose s2?0", "from 1 to 99"},
		{"nose s2?100", 5, "nose s2?100", "from 1 to 99"},
		{"nose s2?+5", 5, "nose s2?+5", "from 1 to 99"},
		{"nose s2?7x", 5, "nose s2?7x", "from 1 to 99"},
		{"nose s2!", 5, "nose s2!", "after the grade"},
		{"nose s2 s3", 8, "nose s3", "already has s2 seen"},
		{"nose s2 s2", 8, "nose s2", "written twice"},
		{"nose s2; nose s2", 14, "nose s2", "written twice"},
		{"nose s2? s2?40", 9, "nose s2?40", "written twice"},
		{"nose s2 s2?", 8, "nose s2?", "at or below the seen"},
		{"nose s1? s2", 9, "nose s2", "at or below the seen"},
		{"nose s2 s1-", 8, "nose s1-", "nothing at that grade or above"},
		{"nose s2- s2", 9, "nose s2", "nothing at that grade or above"},
		{"nose s2- s3?", 9, "nose s3?", "nothing at that grade or above"},
		{"nose s2- s3-", 9, "nose s3-", "keep the lower"},
		{"nose", 0, "nose", "at least one mark"},
		{"nose; tail c1", 0, "nose", "at least one mark"},
		{"s2 nose", 0, "s2", "needs its zone first"},
		{"nose s2 tail c1", 8, "tail", "put ; before"},
		{"none; nose c1", 0, "none", "is written alone"},
		{"nose c1; none", 9, "none", "is written alone"},
	} {
		_, err := damage.Parse(tt.in)
		var fault *damage.SyntaxError
		if !errors.As(err, &fault) {
			t.Errorf("Parse(%q): %v, want a SyntaxError", tt.in, err)
			continue
		}
		if fault.Offset != tt.offset || fault.Text != tt.text || !strings.Contains(fault.Problem, tt.says) {
			t.Errorf("Parse(%q): offset %d text %q problem %q; want %d %q ...%s...", tt.in, fault.Offset, fault.Text,
				fault.Problem, tt.offset, tt.text, tt.says)
		}
	}
}

// codes draws any valid code.
func codes(t *rapid.T) damage.Code {
	var marks []damage.Mark
	for range rapid.IntRange(0, 8).Draw(t, "marks") {
		m := damage.Mark{
			Item: damage.Item{
				Spot: damage.Spot{
					Zone:  damage.Zone(rapid.IntRange(0, damage.ZoneCount-1).Draw(t, "zone")),
					Class: damage.Class(rapid.IntRange(0, damage.ClassCount-1).Draw(t, "class")),
				},
				Grade: damage.Grade(rapid.IntRange(1, 4).Draw(t, "grade")),
			},
			State: damage.State(rapid.IntRange(0, 2).Draw(t, "state")),
		}
		if m.State == damage.Suspected {
			m.Percent = rapid.IntRange(0, 99).Draw(t, "percent")
		}
		if _, err := damage.NewCode(append(marks, m)...); err == nil {
			marks = append(marks, m)
		}
	}
	code, err := damage.NewCode(marks...)
	if err != nil {
		t.Fatal(err)
	}
	return code
}

func TestPrintThenParseIsTheIdentity(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := codes(t).String()
		got, err := damage.Parse(want)
		if err != nil || got.String() != want {
			t.Fatalf("Parse(%q) = %q, %v", want, got, err)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, seed := range []string{"nose s3 c2; front-near m2?; cabin r2?70", "none", "nose s2 m1-", ";", "tail:c3/s2",
		"nose s2?99 s1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		code, err := damage.Parse(text)
		if err != nil {
			var fault *damage.SyntaxError
			if !errors.As(err, &fault) || fault.Offset < 0 || fault.Offset > len(text) || fault.Problem == "" {
				t.Fatalf("Parse(%q): %#v", text, err)
			}
			return
		}
		again, err := damage.Parse(code.String())
		if err != nil || again.String() != code.String() {
			t.Fatalf("%q prints %q, which reads as %q, %v", text, code, again, err)
		}
	})
}

func TestNamesParseBack(t *testing.T) {
	for _, z := range damage.Zones() {
		if got, err := damage.ParseZone(z.String()); err != nil || got != z {
			t.Errorf("ParseZone(%q) = %v, %v", z, got, err)
		}
		if z.Covers() == "" {
			t.Errorf("%s covers nothing", z)
		}
	}
	for _, c := range damage.Classes() {
		for _, name := range []string{c.String(), c.Letter()} {
			if got, err := damage.ParseClass(name); err != nil || got != c {
				t.Errorf("ParseClass(%q) = %v, %v", name, got, err)
			}
		}
		if c.Caution() == "" || c.Covers() == "" {
			t.Errorf("%s has no caution or no text", c)
		}
		for g := damage.Grade(1); g.Valid(); g++ {
			if c.Describe(g) == "" {
				t.Errorf("%s grade %d has no description", c, g)
			}
		}
	}
}

func TestItemsAreNumberedOnceEach(t *testing.T) {
	seen := map[int]damage.Item{}
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			for g := damage.Grade(1); g.Valid(); g++ {
				item := damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}
				n := item.Index()
				if other, dup := seen[n]; dup || n < 0 || n >= damage.ItemCount {
					t.Errorf("%s has number %d, as %s", item, n, other)
				}
				seen[n] = item
			}
		}
	}
}

func BenchmarkParse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := damage.Parse("nose m1?14 s1?; rear-near m2 m4?; rear-off m2 m3?; cabin c2"); err != nil {
			b.Fatal(err)
		}
	}
}
