package listing

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"wreckoner/damage"
)

// A sample is a sentence of testdata/sentences.csv: a listing's text and the code
// that a careful person gives it; common practice, no source. All were written
// for this project. The sets: work, with which the grammar was built; held,
// written before the grammar, with which nothing was tuned; others and styles to
// styles8, written afterwards in other styles, a batch at a time, each scored
// before what it showed was put right (F1 at first sight of others 0.86 to 0.98, of
// the eight styles 0.90, 0.86, 0.91, 0.93, 0.91, 0.94, 0.92, 0.91). The set sale is
// the sample list. Of four sentences with a forced ignition lock the code was
// changed later, when the lock became a mechanical job, and of one with a cracked
// alloy wheel, which nobody polishes.
type sample struct {
	line   int
	set    string
	text   string
	code   damage.Code
	extras map[string]string
}

func samples(t *testing.T) []sample {
	t.Helper()
	f, err := os.Open("testdata/sentences.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	rows, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []sample
	for i, row := range rows[1:] {
		code, err := damage.Parse(row[2])
		if err != nil {
			t.Fatalf("sentences.csv:%d: damage: %v", i+2, err)
		}
		s := sample{i + 2, row[0], row[1], code, map[string]string{}}
		for pair := range strings.SplitSeq(row[3], ";") {
			if column, value, found := strings.Cut(pair, "="); found {
				s.extras[column] = value
			}
		}
		out = append(out, s)
	}
	return append(out, sale(t)...)
}

// sale is the sample sale list, whose codes a person wrote without the lexicon
// in hand; lots without a code are left out. Its starts and keys are columns of
// the list, not words, so that no extras are compared.
func sale(t *testing.T) []sample {
	t.Helper()
	f, err := os.Open("../../samples/sale.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	in := csv.NewReader(f)
	rows, err := in.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	text, coded := slices.Index(rows[0], "description"), slices.Index(rows[0], "damage")
	if text < 0 || coded < 0 {
		t.Fatalf("samples/sale.csv: no description or no damage among %q", rows[0])
	}
	var out []sample
	for i, row := range rows[1:] {
		code, err := damage.Parse(row[coded])
		if err != nil {
			t.Fatalf("samples/sale.csv: record %d: %v", i+2, err)
		}
		if code.Coded() {
			out = append(out, sample{i + 2, "sale", row[text], code, nil})
		}
	}
	return out
}

// A score counts spots (zone and class) found, missed and wrongly given.
type score struct{ found, missed, wrong, graded int }

func (s *score) add(o score) {
	s.found += o.found
	s.missed += o.missed
	s.wrong += o.wrong
	s.graded += o.graded
}

func (s score) plus(o score) score {
	s.add(o)
	return s
}

// setScore scores what was read against what a person wrote.
func setScore(got, want []string) (s score) {
	for _, w := range want {
		if slices.Contains(got, w) {
			s.found++
		} else {
			s.missed++
		}
	}
	for _, g := range got {
		if !slices.Contains(want, g) {
			s.wrong++
		}
	}
	return s
}

func pairs(m map[string]string) (out []string) {
	for k, v := range m {
		out = append(out, k+"="+v)
	}
	return out
}

func ratio(a, b int) float64 {
	if b == 0 {
		return 1
	}
	return float64(a) / float64(b)
}

func (s score) precision() float64 { return ratio(s.found, s.found+s.wrong) }
func (s score) recall() float64    { return ratio(s.found, s.found+s.missed) }
func (s score) f1() float64        { return ratio(2*s.found, 2*s.found+s.wrong+s.missed) }

func (s score) String() string {
	text := fmt.Sprintf("found %3d missed %2d wrong %2d  precision %.3f recall %.3f F1 %.3f",
		s.found, s.missed, s.wrong, s.precision(), s.recall(), s.f1())
	if s.graded > 0 {
		text += fmt.Sprintf("  grade within one %.3f", ratio(s.graded, s.found))
	}
	return text
}

// compare scores what was read against what a person wrote. A spot is found
// where both have it seen or suspected; a suspected mark that the person did
// not write is wrong from a chance of atLeast on. The grade is that of the seen
// mark, else of the surest suspected one.
func compare(got, want damage.Code, atLeast int) map[damage.Class]score {
	present := func(c damage.Code) map[damage.Spot][]damage.Mark {
		spots := map[damage.Spot][]damage.Mark{}
		for _, m := range c.Marks() {
			if m.State != damage.Absent {
				spots[m.Spot] = append(spots[m.Spot], m)
			}
		}
		return spots
	}
	percent := func(m damage.Mark) int {
		switch {
		case m.State == damage.Seen:
			return 100
		case m.Percent == 0:
			return 40
		}
		return m.Percent
	}
	best := func(ms []damage.Mark) damage.Mark {
		return slices.MaxFunc(ms, func(a, b damage.Mark) int { return cmp.Compare(percent(a), percent(b)) })
	}
	scores := map[damage.Class]score{}
	g, w := present(got), present(want)
	for spot, marks := range w {
		s := scores[spot.Class]
		if read, ok := g[spot]; ok {
			s.found++
			if d := int(best(read).Grade) - int(best(marks).Grade); d >= -1 && d <= 1 {
				s.graded++
			}
		} else {
			s.missed++
		}
		scores[spot.Class] = s
	}
	for spot, marks := range g {
		if _, ok := w[spot]; !ok && percent(best(marks)) >= atLeast {
			s := scores[spot.Class]
			s.wrong++
			scores[spot.Class] = s
		}
	}
	return scores
}

func absent(c damage.Code) []string {
	var out []string
	for _, m := range c.Marks() {
		if m.State == damage.Absent {
			out = append(out, m.Spot.String())
		}
	}
	return out
}

// bars are the F1 by zone and class, and the share of grades within one, that each
// set must reach: what the reader reached before its rules became tables, and for
// the two sets written afterwards (F1 at first sight 0.924 and 0.910) what it has
// reached since. The goal that the project set itself is 0.9 of either.
var bars = []struct {
	set       string
	f1, grade float64
}{
	{"work", 0.977, 0.995}, {"held", 0.952, 1}, {"others", 0.972, 0.997}, {"sale", 0.974, 0.989},
	{"styles", 0.982, 0.992}, {"styles2", 0.989, 0.989}, {"styles3", 0.969, 0.968}, {"styles4", 0.977, 0.977},
	{"styles5", 0.966, 1}, {"styles6", 0.957, 1}, {"styles7", 0.970, 0.973}, {"styles8", 0.933, 0.984},
}

// SENTENCES=work (or another set) lists the sentences of that set that are not
// read as the person wrote them.
func TestSentences(t *testing.T) {
	l := Starter()
	total := map[string]score{}
	strict := map[string]score{}
	classes := map[string]map[damage.Class]score{}
	ruled := map[string]score{}
	extras := map[string]score{}
	unknown := map[string]int{}
	only := os.Getenv("SENTENCES")
	for _, s := range samples(t) {
		r := l.Read(s.text)
		if classes[s.set] == nil {
			classes[s.set] = map[damage.Class]score{}
		}
		var all score
		for class, c := range compare(r.Code, s.code, 50) {
			all.add(c)
			sum := classes[s.set][class]
			sum.add(c)
			classes[s.set][class] = sum
		}
		sum := total[s.set]
		sum.add(all)
		total[s.set] = sum
		sum = strict[s.set]
		for _, c := range compare(r.Code, s.code, 1) {
			sum.add(c)
		}
		strict[s.set] = sum
		ruled[s.set] = ruled[s.set].plus(setScore(absent(r.Code), absent(s.code)))
		unknown[s.set] += len(r.Unknown)
		if s.extras != nil {
			extras[s.set] = extras[s.set].plus(setScore(pairs(r.Extras), pairs(s.extras)))
		}
		if only == s.set && (all.missed+all.wrong > 0 || all.graded < all.found || len(r.Unknown) > 0) {
			t.Logf("%d: %s\n    want %s\n    read %s\n    missed %d wrong %d misgraded %d, unknown %v", s.line, s.text, s.code,
				r.Code, all.missed, all.wrong, all.found-all.graded, r.Unknown)
		}
	}
	for _, bar := range bars {
		set := bar.set
		t.Logf("%-7s spots   %s", set, total[set])
		for _, class := range damage.Classes() {
			t.Logf("%-7s %s       %s", set, class.Letter(), classes[set][class])
		}
		t.Logf("%-7s if every suspected mark counted: %s", set, strict[set])
		t.Logf("%-7s absent  %s", set, ruled[set])
		t.Logf("%-7s extras  %s", set, extras[set])
		t.Logf("%-7s words not understood: %d", set, unknown[set])
		if f := total[set].f1(); f < bar.f1 {
			t.Errorf("%s: F1 %.4f, want %.3f or more", set, f, bar.f1)
		}
		if g := ratio(total[set].graded, total[set].found); g < bar.grade {
			t.Errorf("%s: %.4f of the grades are within one, want %.3f or more", set, g, bar.grade)
		}
	}
	if len(total) != len(bars) {
		t.Errorf("%d sets of sentences, %d bars", len(total), len(bars))
	}
}
