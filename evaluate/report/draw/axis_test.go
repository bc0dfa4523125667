package draw

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Fit returns the finest scale of at most n ticks, at least 3, that covers the
// values; Lo and Hi are ticks. Values that are all the same get room on both
// sides. It returns an error where there is no value, or one that cannot be drawn.
func Fit(n int, values ...float64) (Scale, error) {
	lo, hi, err := span(values)
	if err != nil {
		return Scale{}, err
	}
	return cover(max(n, 3), lo, hi), nil
}

func number(t *rapid.T, label string) float64 {
	size := math.Pow10(rapid.IntRange(-4, 9).Draw(t, label+" size"))
	return rapid.Float64Range(-1, 1).Draw(t, label) * size
}

// oneTwoFive reports whether step is 1, 2 or 5 times a power of ten.
func oneTwoFive(step float64) bool {
	digits, _, _ := strings.Cut(strconv.FormatFloat(step, 'e', 6, 64), "e")
	m, err := strconv.ParseFloat(digits, 64)
	return err == nil && (m == 1 || m == 2 || m == 5)
}

func TestFitCovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := number(t, "a"), number(t, "b")
		n := rapid.IntRange(3, 12).Draw(t, "n")
		s, err := Fit(n, a, b)
		if err != nil {
			t.Fatal(err)
		}
		ticks := s.Ticks()
		slack := 1e-6 * s.Step
		if ticks[0] > min(a, b)+slack || ticks[len(ticks)-1] < max(a, b)-slack {
			t.Fatalf("%v does not cover %v and %v", ticks, a, b)
		}
		if len(ticks) < 2 || len(ticks) > n {
			t.Fatalf("%d ticks, want 2 to %d", len(ticks), n)
		}
		if !oneTwoFive(s.Step) {
			t.Fatalf("step %v is not 1, 2 or 5", s.Step)
		}
		// The labels have just the decimals that tell the ticks apart.
		for i, v := range ticks {
			text := strings.NewReplacer("−", "-", ",", "").Replace(Format{}.tick(v, s.Step, false))
			back, err := strconv.ParseFloat(text, 64)
			if err != nil || math.Abs(back-v) > 1e-9*max(1, math.Abs(v)) {
				t.Fatalf("tick %v is labelled %q", v, text)
			}
			if i > 0 && math.Abs(v-ticks[i-1]-s.Step) > 1e-6*s.Step {
				t.Fatalf("ticks %v and %v are not %v apart", ticks[i-1], v, s.Step)
			}
		}
	})
}

func TestFitIsTheFinest(t *testing.T) {
	for _, c := range []struct {
		n      int
		lo, hi float64
		want   string
	}{
		{6, 0, 1, "0.0 0.2 0.4 0.6 0.8 1.0"},
		{5, -3200, 4100, "−5,000 0 5,000"},
		{10, -3200, 4100, "−4,000 −3,000 −2,000 −1,000 0 1,000 2,000 3,000 4,000 5,000"},
		{5, 0.013, 0.047, "0.01 0.02 0.03 0.04 0.05"},
		{3, 7, 7, "6 7 8"},
		{4, 0, 0, "−1 0 1"},
		{4, 0.1, 0.3, "0.1 0.2 0.3"},
	} {
		s, err := Fit(c.n, c.lo, c.hi)
		if err != nil {
			t.Fatal(err)
		}
		var labels []string
		for _, v := range s.Ticks() {
			labels = append(labels, Format{}.tick(v, s.Step, false))
		}
		if got := strings.Join(labels, " "); got != c.want {
			t.Errorf("Fit(%d, %v, %v): ticks %s, want %s", c.n, c.lo, c.hi, got, c.want)
		}
	}
}

func TestFitRefuses(t *testing.T) {
	for _, values := range [][]float64{{}, {math.NaN()}, {1, math.Inf(1)}, {1e16}} {
		if s, err := Fit(5, values...); err == nil {
			t.Errorf("Fit(%v) = %v", values, s)
		}
	}
}

func TestSnugReachesJustBeyond(t *testing.T) {
	s, err := Snug(6, 0, 4130)
	if err != nil || s.Lo != 0 || s.Hi < 4130 || s.Hi > 4300 || s.Step != 1000 {
		t.Errorf("Snug = %v, %v", s, err)
	}
}

// Whatever the numbers, the labels of a ruler stay in the picture and apart.
func TestRulerLabelsKeepApart(t *testing.T) {
	formats := []Format{{}, Money("GBP"), Money("NOK"), Percent(), Plain("days")}
	rapid.Check(t, func(t *rapid.T) {
		a, b := number(t, "a"), number(t, "b")
		f := rapid.SampledFrom(formats).Draw(t, "format")
		width := rapid.SampledFrom([]float64{cellWidth, phoneWidth, deskWidth}).Draw(t, "width")
		left := rapid.Float64Range(edge, width*0.45).Draw(t, "left")
		right := rapid.Float64Range(width*0.7, width-edge).Draw(t, "right")
		r := fitRuler(min(a, b), max(a, b), left, right, width, f)
		at, labels := math.Inf(-1), 0
		for _, k := range r.ticks {
			if k.label == "" {
				continue
			}
			labels++
			box := textBox(k.x, 0, middle, k.label)
			if box.x0 < at || box.x0 < -1e-9 || box.x1 > width+1e-9 {
				t.Fatalf("label %q from %v to %v of %v, after %v", k.label, box.x0, box.x1, width, at)
			}
			at = box.x1
		}
		if widest := textWidth(f.Value(min(a, b, -max(a, b)))); labels == 0 && widest < width/4 {
			t.Fatal("no label")
		}
		for _, v := range []float64{a, b} {
			if x, on := r.at(v); !on || x < r.x0-1e-9 || x > r.x1+1e-9 {
				t.Fatalf("%v is at %v, on the ruler: %t", v, x, on)
			}
		}
	})
}
