package listing

import (
	"slices"
	"strings"
	"testing"
)

// What the words of these sentences come to is common practice of body repair, no
// source: what is through the lacquer is painted, what polishes out is not, glass and
// lamps are replaced whatever broke them, a car is priced by the panels that are named.
func TestNumbersOfDoorsAndPaintAreReadAsTheTradeReadsThem(t *testing.T) {
	for _, tt := range []struct{ text, want, unknown string }{
		{"wing, 2 doors, sill", "front-near c2?50; front-off c2?50; side-near s2?50 c2?50; side-off s2?50 c2?50", ""},
		{"2 doors n/s", "side-near c2 c3?45", ""},
		{"N/S front and N/S side - wing, 2 doors, sill, a-post", "front-near c3; side-near s2 c2 c3?45", ""},
		{"2doors o/s dented, sill", "side-off s2 c3", ""},
		{"two doors o/s creased", "side-off c3", ""},
		{"n/s wing, 2 door, sill dented", "front-near c2; side-near s2 c3", ""},
		{"2 door n/s dented", "side-near s2?35 c2", "2 door"},
		{"5 door hatchback, wing n/s dented", "front-near c2", ""},
		{"4dr saloon, bonnet dented", "nose c2", ""},
		{"4 doors, petrol, bonnet dented", "nose c2", ""},
		{"three panels n/s need paint", "side-near c2 c3?35", ""},
		{"n/s door scraped", "side-near c2", ""},
		{"n/s door lightly scraped", "side-near c1", ""},
		{"n/s door badly scraped", "side-near c2", ""},
		{"n/s door scratched", "side-near c1 c2?45", ""},
		{"n/s door scratched, will polish out", "side-near c1", ""},
		{"light scratch n/s door", "side-near c1", ""},
		{"keyed n/s door", "side-near c2", ""},
		{"stone chips to bonnet", "nose c1", ""},
		{"scrapes all down n/s side, both doors & sill", "side-near c2 c3?35", ""},
		{"n/s door needs paint", "side-near c2", ""},
		{"windscreen cracked", "cabin c2", ""},
		{"windscreen smashed", "cabin c2", ""},
		{"headlamp n/s cracked", "nose c3", ""},
		{"soft top roof slashed", "roof c3", ""},
		{"roof slashed", "roof c3", ""},
		{"n/s/f alloy cracked", "front-near c3", ""},
		{"n/s/f alloy kerbed", "front-near c1", ""},
		{"ignition barrel broken", "cabin m1", ""},
		{"2 wheels bent", "front-near m2?50; front-off m2?50; rear-near m2?50; rear-off m2?50", ""},
		{"cat stolen, underside scraped", "under c2 m1", ""},
		{"hood torn, convertible", "roof c3", ""},
		{"hood dented", "nose c2", ""},
		{"six panels scratched", "none", "scratched"},
		{"3 windows broken", "side-near c3; side-off c3", ""},
	} {
		r := Starter().Read(tt.text)
		if got := r.Code.String(); got != tt.want && !(tt.want == "none" && !r.Code.Coded()) {
			t.Errorf("%q reads %q, want %q", tt.text, got, tt.want)
		}
		if got := strings.Join(r.Unknown, ", "); got != tt.unknown {
			t.Errorf("%q leaves %q not understood, want %q", tt.text, got, tt.unknown)
		}
	}
}

// Every part that the lexicon knows, written in each of these ways, is in the words
// that gave something or among those that are not understood.
func TestNoPartVanishes(t *testing.T) {
	if testing.Short() {
		t.Skip("every part beside every other, a second")
	}
	l := Starter()
	for _, row := range starterRows() {
		k := kindNamed(row.Kind)
		if k&things == 0 {
			continue
		}
		for word := range strings.SplitSeq(row.Words, "|") {
			if e, _ := l.lookup(strings.Join(plainWords(word), "")); !(term{entry: e}).is(things) {
				continue
			}
			for _, frame := range []string{
				"#  broken", "n/s front, wing, 2 #s, sill broken", "2 #s n/s", "three # o/s dented", "both # bent",
				"bumper, #, bonnet damaged", "front end damage. # broken", "scraped #", "4 x # smashed", "no damage but # bent",
			} {
				if short := plainWords(word); len(short[len(short)-1]) <= shortWord && strings.Contains(frame, "#s") ||
					strings.HasPrefix(word, "quarter") && strings.HasPrefix(frame, "three") {
					continue // nobody writes "a cs"; "three quarters" is a share
				}
				text := strings.ReplaceAll(frame, "#", word)
				if !said(l.Read(text), word) {
					t.Errorf("%q: nothing says what became of %q", text, word)
				}
			}
		}
	}
}

// said reports whether every word of the part is somewhere in the reading, in the
// singular or the plural.
func said(r Reading, part string) bool {
	var words []string
	for _, e := range r.Evidence {
		words = append(words, plainWords(e.Words)...)
	}
	for _, u := range r.Unknown {
		words = append(words, plainWords(u)...)
	}
	all := strings.Join(words, "")
	return strings.Contains(all, strings.Join(plainWords(part), "")) ||
		!slices.ContainsFunc(plainWords(part), func(w string) bool { return !strings.Contains(all, w) })
}
