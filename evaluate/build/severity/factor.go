// Package severity computes what is believed of the factor that many normal
// scores share, once some of them have been seen. It takes plain numbers and
// knows nothing of what they measure.
package severity

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Evidence is what has been seen of scores that share the standard normal factor
// Z. The zero value is no evidence.
type Evidence struct {
	// Link is the correlation of any two scores u = sqrt(Link) Z + sqrt(1 - Link) e,
	// from 0 to below 1. At 0 they say nothing of Z.
	Link float64
	// Scores were seen exactly: standard normal before anything was known.
	Scores []float64
	// AtLeast are scores of which only a lower bound is known.
	AtLeast []float64
	// Open are scores that either are a known value or lie anywhere above it.
	Open []Open
	// HiddenLink is the same for occurrences v = sqrt(HiddenLink) Z +
	// sqrt(1 - HiddenLink) n, from 0 to below 1.
	HiddenLink float64
	// Looks are occurrences that were looked for.
	Looks []Look
}

// A Look is a thing with a chance between 0 and 1 of being there, that occurs
// when Phi(v) > 1 - Chance, and whether it was found.
type Look struct {
	Chance float64
	Found  bool
}

// A Factor is what is believed of Z.
type Factor struct {
	mean, sd float64
	// z are the points of the grid, ascending and step apart; nil where there is
	// no evidence. density is at them, below the chance of a smaller Z.
	z, density, below []float64
	step              float64
	habits            []nodeChances // at every so many of the points; nil without open scores
}

// cells of the grid, which spans reach of the widest possible standard deviation
// either side of the mode. The density is worked out at every coarse'th point and
// read off between them, unless a link is above sharpLink.
const (
	cells     = 4000
	reach     = 9
	coarse    = 10
	sharpLink = 0.9
)

// New returns what is believed of Z. It fails where a link, a chance or a score
// is out of range, or where something certain was not found or something
// impossible was.
//
// Scores given Z are normal, occurrences and bounds are probit (Albert and Chib
// 1993, Journal of the American Statistical Association 88, 669-679). Without open
// scores the log density is concave, its second derivative at most
// -(1 + n Link / (1 - Link)), so that it has one mode and lies within a known distance
// of it; open scores move it by less than that distance. There it is evaluated on a
// grid and integrated by the trapezoidal rule, which for a density that has died out
// at both ends converges faster than any power.
func New(e Evidence) (*Factor, error) {
	if err := e.check(); err != nil {
		return nil, err
	}
	if !e.tells() {
		return &Factor{sd: 1}, nil
	}
	sum := 0.0
	for _, u := range e.Scores {
		sum += u
	}
	tightness := e.Link / (1 - e.Link)
	precision := 1 + float64(len(e.Scores))*tightness
	// The mode were there scores only; the rest pulls from here.
	start := math.Sqrt(e.Link) * sum / (1 - e.Link) / precision
	mode := top(e.logDensity, start, 1/math.Sqrt(precision))
	half := reach / math.Sqrt(precision)
	every := coarse
	if max(e.Link, e.HiddenLink) > sharpLink {
		every = 1
	}
	return newFactor(&e, mode-half, mode+half, every), nil
}

func (e Evidence) check() error {
	for _, link := range []float64{e.Link, e.HiddenLink} {
		if !(link >= 0 && link < 1) {
			return fmt.Errorf("link %v is not from 0 to below 1", link)
		}
	}
	for _, us := range [][]float64{e.Scores, e.AtLeast} {
		for i, u := range us {
			// Beyond this no double holds the chance of it.
			if !(math.Abs(u) <= 38) {
				return fmt.Errorf("score %d is %v; scores lie between -38 and 38", i+1, u)
			}
		}
	}
	for i := range e.Open {
		if err := e.Open[i].check(); err != nil {
			return fmt.Errorf("open score %d: %w", i+1, err)
		}
	}
	for i := range e.Looks {
		if err := e.Looks[i].check(); err != nil {
			return fmt.Errorf("chance %d is %w", i+1, err)
		}
	}
	return nil
}

func (l *Look) check() error {
	switch {
	case !(l.Chance >= 0 && l.Chance <= 1):
		return fmt.Errorf("%v; chances lie between 0 and 1", l.Chance)
	case l.Chance == 0 && l.Found:
		return errors.New("0, and yet it was found; give it a chance above 0")
	case l.Chance == 1 && !l.Found:
		return errors.New("1, and yet it was not found; give it a chance below 1")
	}
	return nil
}

// tells reports whether the evidence says anything of Z.
func (e Evidence) tells() bool {
	if e.Link > 0 && len(e.Scores)+len(e.AtLeast) > 0 || len(e.Open) > 0 {
		return true
	}
	for _, l := range e.Looks {
		if e.HiddenLink > 0 && l.Chance > 0 && l.Chance < 1 {
			return true
		}
	}
	return false
}

// logDensity returns the log of the density of Z at z, but for a constant.
func (e Evidence) logDensity(z float64) float64 {
	sum := -z * z / 2
	pull, own := math.Sqrt(e.Link)*z, math.Sqrt(1-e.Link)
	for _, u := range e.Scores {
		d := (u - pull) / own
		sum -= d * d / 2
	}
	for _, u := range e.AtLeast {
		sum += logCDF((pull - u) / own)
	}
	pull, own = math.Sqrt(e.HiddenLink)*z, math.Sqrt(1-e.HiddenLink)
	for _, l := range e.Looks {
		if l.Chance == 0 || l.Chance == 1 {
			continue
		}
		score := (pull + distuv.UnitNormal.Quantile(l.Chance)) / own
		if !l.Found {
			score = -score
		}
		sum += logCDF(score)
	}
	return sum + e.logOpen(z, nil)
}

// logCDF returns the log of the standard normal distribution function. Far below
// it is the asymptotic series: Abramowitz and Stegun (1964), 26.2.12.
func logCDF(x float64) float64 {
	if x > -20 {
		return math.Log(math.Erfc(-x/math.Sqrt2) / 2)
	}
	i := 1 / (x * x)
	return -x*x/2 - math.Log(-x) - math.Log(2*math.Pi)/2 + math.Log1p(-i*(1-3*i*(1-5*i)))
}

// top returns the maximum of a concave function, looked for from start on in
// steps that grow, then by golden section.
func top(f func(float64) float64, start, step float64) float64 {
	low, high := start-step, start+step
	for s := step; f(low) > f(low+s/2); s *= 2 {
		low -= s
	}
	for s := step; f(high) > f(high-s/2); s *= 2 {
		high += s
	}
	const golden = 0.6180339887498949
	for high-low > step/1000 {
		span := golden * (high - low)
		if f(high-span) > f(low+span) {
			high = low + span
		} else {
			low = high - span
		}
	}
	return (low + high) / 2
}

func newFactor(e *Evidence, low, high float64, every int) *Factor {
	f := &Factor{
		z:       make([]float64, cells+1),
		density: make([]float64, cells+1),
		below:   make([]float64, cells+1),
		step:    (high - low) / cells,
	}
	for i := range f.z {
		f.z[i] = low + float64(i)*f.step
	}
	n := cells/every + 1
	logs := make([]float64, n)
	if len(e.Open) > 0 {
		f.habits = make([]nodeChances, n)
	}
	for i := range logs {
		logs[i] = e.logDensity(f.z[i*every])
		if f.habits != nil {
			e.logOpen(f.z[i*every], &f.habits[i])
		}
	}
	f.moments(logs, every)
	peak := slices.Max(logs)
	for i := range f.z {
		f.density[i] = math.Exp(between(logs, i, every) - peak)
	}
	total := 0.0
	for i := range f.z {
		total += f.density[i] * f.step
	}
	for i := range f.z {
		f.density[i] /= total
		if i > 0 {
			f.below[i] = f.below[i-1] + f.step*(f.density[i-1]+f.density[i])/2
		}
	}
	return f
}

// moments sets the mean and the standard deviation from the logs of the density at every so
// many points of the grid.
func (f *Factor) moments(logs []float64, every int) {
	peak := slices.Max(logs)
	total, first, second := 0.0, 0.0, 0.0
	for i, l := range logs {
		d := math.Exp(l - peak)
		total += d
		first += d * f.z[i*every]
	}
	f.mean = first / total
	for i, l := range logs {
		d := f.z[i*every] - f.mean
		second += math.Exp(l-peak) * d * d
	}
	f.sd = math.Sqrt(second / total)
}

// between returns the log of the density at point i of the grid, of those at every so many
// points: through the four nearest by Lagrange's formula (Abramowitz and Stegun 1964, 25.2.13).
func between(logs []float64, i, every int) float64 {
	if i%every == 0 {
		return logs[i/every]
	}
	from := min(max(i/every-1, 0), len(logs)-4)
	p := float64(i)/float64(every) - float64(from) - 1
	a := logs[from : from+4]
	return -p*(p-1)*(p-2)/6*a[0] + (p*p-1)*(p-2)/2*a[1] - p*(p+1)*(p-2)/2*a[2] + p*(p*p-1)/6*a[3]
}

// Mean returns the expected Z.
func (f *Factor) Mean() float64 { return f.mean }

// SD returns the standard deviation of Z.
func (f *Factor) SD() float64 { return f.sd }

// Quantile returns the Z below which the factor lies with probability p in (0,1):
// feed it uniform numbers to draw Z. Without evidence it is the standard normal
// quantile, to the last bit.
//
// The density is taken as straight between the points of the grid, which puts
// quantiles between 0.0001 and 0.9999 within a hundred-thousandth of a standard
// deviation.
func (f *Factor) Quantile(p float64) float64 {
	if f.z == nil {
		return distuv.UnitNormal.Quantile(p)
	}
	i := min(max(sort.SearchFloat64s(f.below, p), 1), cells)
	a, b := f.density[i-1], f.density[i]
	rest := max(0, p-f.below[i-1])
	if a == 0 && b == 0 {
		return f.z[i]
	}
	// a t + (b - a) t^2 / (2 step) = rest, in the form that does not cancel.
	root := math.Sqrt(max(0, a*a+2*(b-a)/f.step*rest))
	return f.z[i-1] + min(f.step, 2*rest/(a+root))
}
