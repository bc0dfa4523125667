package draw

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// A Scale is a range of numbers with even ticks at the multiples of Step.
type Scale struct {
	Lo, Hi float64
	// Step is 1, 2 or 5 times a power of ten.
	Step float64
}

// Snug returns the scale with the finest step that gives at most n ticks, at least 3, over
// the values, and that reaches only just beyond them: the ticks are within, and may be as few
// as one. Values that are all the same get room on both sides. It returns an error where there
// is no value, or one that cannot be drawn.
func Snug(n int, values ...float64) (Scale, error) {
	lo, hi, err := span(values)
	if err != nil {
		return Scale{}, err
	}
	s := cover(max(n, 3), lo, hi)
	s.Lo, s.Hi = margins(lo, hi)
	return s, nil
}

func span(values []float64) (lo, hi float64, err error) {
	if len(values) == 0 {
		return 0, 0, errors.New("a scale needs a value")
	}
	if err := finite("a scale", values...); err != nil {
		return 0, 0, err
	}
	lo, hi = ends(values)
	return lo, hi, nil
}

// ends returns the least and the greatest of the values, of which there is one.
func ends(values []float64) (lo, hi float64) { return slices.Min(values), slices.Max(values) }

// widen gives values that are all but the same room on both sides.
func widen(lo, hi float64) (float64, float64) {
	size := max(math.Abs(lo), math.Abs(hi))
	if hi-lo > 1e-9*max(size, 1) {
		return lo, hi
	}
	room := size / 10
	if size < 1e-6 {
		room = 1
	}
	return lo - room, hi + room
}

func cover(n int, lo, hi float64) Scale {
	lo, hi = widen(lo, hi)
	for power := math.Floor(math.Log10((hi-lo)/float64(n))) - 1; ; power++ {
		for _, m := range [...]float64{1, 2, 5} {
			step := m * math.Pow10(int(power))
			// A value that is a tick but for the last bits of its float is one.
			first, last := math.Floor(lo/step+1e-9), math.Ceil(hi/step-1e-9)
			if last-first <= float64(n-1) {
				return Scale{Lo: first * step, Hi: last * step, Step: step}
			}
		}
	}
}

// Ticks returns the ticks from Lo to Hi.
func (s Scale) Ticks() []float64 {
	first, last := math.Ceil(s.Lo/s.Step-1e-9), math.Floor(s.Hi/s.Step+1e-9)
	ticks := make([]float64, 0, max(0, int(last-first)+1))
	for k := first; k <= last; k++ {
		v := k * s.Step
		if s.Step < 1 {
			// One division rounds once; 3 * 0.1 would not be 0.3.
			p := math.Pow10(decimals(s.Step))
			v = math.Round(v*p) / p
		}
		ticks = append(ticks, v)
	}
	return ticks
}

// decimals returns how many decimals a number with that step needs.
func decimals(step float64) int {
	return max(0, -int(math.Floor(math.Log10(step)+1e-9)))
}

// A ruler lays numbers along a line, from Lo at x0 to Hi at x1, which need not
// be ticks.
type ruler struct {
	Scale
	x0, x1 float64
	ticks  []tick
}

// A tick is where one is, and its label; the label is empty where there is no
// room for it.
type tick struct {
	x     float64
	label string
}

// labelGap is kept free between labels, tickRoom between an axis and its labels:
// they clear the lowest label of an axis that stands beside.
const labelGap, tickRoom = 10, 9

// at returns the x of a value, and whether the value is on the ruler.
func (r *ruler) at(v float64) (x float64, on bool) {
	slack := r.Step * 1e-6
	share := (v - r.Lo) / (r.Hi - r.Lo)
	return r.x0 + min(max(share, 0), 1)*(r.x1-r.x0), v >= r.Lo-slack && v <= r.Hi+slack
}

// fitRuler covers lo to hi between left and right of a picture of that width,
// with as many ticks as have room for their labels.
func fitRuler(lo, hi, left, right, width float64, f Format) *ruler {
	lo, hi = margins(lo, hi)
	for _, least := range []int{3, 2} {
		for _, short := range []bool{false, true} {
			for n := 9; n >= 3; n-- {
				s := Scale{lo, hi, cover(n, lo, hi).Step}
				if r := layRuler(s, left, right, width, f, short); r.whole(least, width) {
					return r
				}
			}
		}
	}
	r := layRuler(cover(3, lo, hi), left, right, width, f, true)
	r.thin(width)
	return r
}

// margins leaves as much room beyond lo and hi as a mark needs, and none where
// they are zero.
func margins(lo, hi float64) (float64, float64) {
	if l, h := widen(lo, hi); l != lo || h != hi {
		return l, h
	}
	room := (hi - lo) * 0.03
	if lo != 0 {
		lo -= room
	}
	if hi != 0 {
		hi += room
	}
	return lo, hi
}

// layRuler lays a scale between left and right, closer where the labels of the
// ticks at the ends would reach out of the picture.
func layRuler(s Scale, left, right, width float64, f Format, short bool) *ruler {
	r := &ruler{Scale: s, x0: left, x1: right}
	for _, v := range s.Ticks() {
		r.ticks = append(r.ticks, tick{label: f.tick(v, s.Step, short)})
	}
	if len(r.ticks) == 0 {
		return r
	}
	first, last := textWidth(r.ticks[0].label)/2+edge, textWidth(r.ticks[len(r.ticks)-1].label)/2+edge
	r.place(s)
	if r.ticks[0].x < first {
		r.x0 = max(left, first)
	}
	if r.ticks[len(r.ticks)-1].x > width-last {
		r.x1 = min(right, width-last)
	}
	if r.x1 <= r.x0 { // no room for both: a label goes, not the picture
		r.x0, r.x1 = left, right
	}
	r.place(s)
	return r
}

func (r *ruler) place(s Scale) {
	for i, v := range s.Ticks() {
		r.ticks[i].x, _ = r.at(v)
	}
}

// whole reports whether there are so many ticks, and each has room for its
// label in a picture of that width.
func (r *ruler) whole(least int, width float64) bool {
	if len(r.ticks) < least {
		return false
	}
	first, last := r.ticks[0], r.ticks[len(r.ticks)-1]
	if first.x < textWidth(first.label)/2 || last.x > width-textWidth(last.label)/2 {
		return false
	}
	for i, t := range r.ticks[1:] {
		if t.x-r.ticks[i].x < (textWidth(t.label)+textWidth(r.ticks[i].label))/2+labelGap {
			return false
		}
	}
	return true
}

// thin takes away the labels for which a picture of that width has no room, from
// the left.
func (r *ruler) thin(width float64) {
	end := math.Inf(-1)
	for i, t := range r.ticks {
		half := textWidth(t.label) / 2
		if t.x-half < max(end, 0) || t.x+half > width {
			r.ticks[i].label = ""
			continue
		}
		end = t.x + half + labelGap
	}
}

// draw draws the ruler under a picture that reaches from top to y: faint lines
// at the ticks, the base line, the labels, and the zero line where zero is set
// and within. It returns the y below the labels.
func (r *ruler) draw(c *canvas, top, y float64, zero bool) float64 {
	for _, t := range r.ticks {
		c.line("grid", t.x, top, t.x, y)
	}
	c.line("axis", r.x0, y, r.x1, y)
	if x, on := r.at(0); zero && on {
		c.line("zero", x, top, x, y)
	}
	for _, t := range r.ticks {
		c.line("axis", t.x, y, t.x, y+4)
		if t.label != "" {
			c.text(t.x, y+tickRoom+ascent, middle, "quiet", t.label)
		}
	}
	return y + tickRoom + lineHeight
}

// check returns an error where the scale is none.
func (s Scale) check() error {
	if err := finite("a scale", s.Lo, s.Hi, s.Step); err != nil {
		return err
	}
	if s.Step <= 0 || s.Hi <= s.Lo || (s.Hi-s.Lo)/s.Step > 1000 {
		return fmt.Errorf("a scale from %v to %v by %v cannot be drawn; make one with Fit", s.Lo, s.Hi, s.Step)
	}
	return nil
}
