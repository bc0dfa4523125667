package severity

import (
	"fmt"
	"math"
	"sort"
)

// An Open score is that of a job on which something was spent and which nobody has called
// done. Either that was all, and the score is Floor; or more is to come, and it lies above.
// How likely the first is differs by workshop and car: it is the habit, a share w that all
// open scores of the evidence have in common, of Jeffreys' prior, Beta(1/2, 1/2).
//
// The likelihood given Z and w is
//
//	(1 - WorseChance) (w Odds density(Floor) + (1 - w) chance(above Floor))
//		+ WorseChance chance(above WorseFloor)
type Open struct {
	Floor float64
	// Odds is what a density of the score at Floor counts against a chance of lying above it,
	// at least 0.
	Odds float64
	// Share is w where it is known, above 0 to 1; 0 where the habit is to tell.
	Share float64
	// WorseChance is the chance, from 0 to 1, that the job is another one, dearer: it is
	// not all paid then, and its score is at least WorseFloor.
	WorseChance, WorseFloor float64
}

func (o *Open) check() error {
	switch {
	case !(math.Abs(o.Floor) <= 38) || !(math.Abs(o.WorseFloor) <= 38):
		return fmt.Errorf("floors are %v and %v; scores lie between -38 and 38", o.Floor, o.WorseFloor)
	case !(o.Odds >= 0) || math.IsInf(o.Odds, 1):
		return fmt.Errorf("odds are %v; they are at least 0", o.Odds)
	case !(o.Share >= 0 && o.Share <= 1):
		return fmt.Errorf("share is %v; shares lie between 0 and 1", o.Share)
	case !(o.WorseChance >= 0 && o.WorseChance <= 1):
		return fmt.Errorf("chance of worse is %v; chances lie between 0 and 1", o.WorseChance)
	}
	return nil
}

// habitNodes are the values of the habit that are told apart, of equal weight: those of
// Gauss and Chebyshev, which integrate over Jeffreys' prior without error what fewer than
// 32 open jobs say (Abramowitz and Stegun 1964, 25.4.38).
const habitNodes = 16

var habits = func() (w [habitNodes]float64) {
	for i := range w {
		s := math.Sin(math.Pi * (float64(i) + 0.5) / (2 * habitNodes))
		w[i] = s * s
	}
	return w
}()

// nodeChances are the chances of the habits up to and with each.
type nodeChances [habitNodes]float64

// logOpen returns the log of the likelihood of the open scores at z, but for a constant, and
// fills in the chances of the habits there, where they are asked for.
func (e *Evidence) logOpen(z float64, chances *nodeChances) float64 {
	if len(e.Open) == 0 {
		return 0
	}
	var likelihood [habitNodes]float64
	for k := range likelihood {
		likelihood[k] = 1
	}
	logs := 0.0
	pull, own := math.Sqrt(e.Link)*z, math.Sqrt(1-e.Link)
	for i := range e.Open {
		o := &e.Open[i]
		all := math.Log(o.Odds*(1-o.WorseChance)) + logDensityAt(o.Floor, pull, own)
		more := math.Log(1-o.WorseChance) + logCDF((pull-o.Floor)/own)
		worse := math.Log(o.WorseChance) + logCDF((pull-o.WorseFloor)/own)
		scale := max(all, more, worse)
		a, m, v := math.Exp(all-scale), math.Exp(more-scale), math.Exp(worse-scale)
		logs += scale
		for k, w := range habits {
			if o.Share > 0 {
				w = o.Share
			}
			likelihood[k] *= w*a + (1-w)*m + v
		}
	}
	sum := 0.0
	for k, x := range likelihood {
		sum += x
		if chances != nil {
			chances[k] = sum
		}
	}
	if chances != nil {
		for k := range chances {
			chances[k] /= sum
		}
	}
	return logs + math.Log(sum/habitNodes)
}

// logDensityAt returns the log of the density at u of a normal score.
func logDensityAt(u, mean, sd float64) float64 {
	d := (u - mean) / sd
	return -d*d/2 - math.Log(sd*math.Sqrt(2*math.Pi))
}

// Habit returns the quantile p, in (0,1), of the habit given the factor z: feed it uniform
// numbers to draw it.
func (f *Factor) Habit(z, p float64) float64 {
	below := f.habitsAt(z)
	return habits[min(sort.SearchFloat64s(below[:], p), habitNodes-1)]
}

// HabitAt returns the expected habit given the factor z.
func (f *Factor) HabitAt(z float64) float64 {
	mean, last := 0.0, 0.0
	for k, below := range f.habitsAt(z) {
		mean += habits[k] * (below - last)
		last = below
	}
	return mean
}

// habitsAt returns the chances of the habits given the factor z.
func (f *Factor) habitsAt(z float64) nodeChances {
	if f.habits == nil {
		return evenly
	}
	at := (z - f.z[0]) / (f.z[cells] - f.z[0]) * float64(len(f.habits)-1)
	return f.habits[min(max(int(math.Round(at)), 0), len(f.habits)-1)]
}

// evenly are the chances of the habits where nothing speaks for any of them.
var evenly = func() (c nodeChances) {
	for i := range c {
		c[i] = float64(i+1) / habitNodes
	}
	return c
}()

// AllShare returns the chance that an open score is its floor, given the factor z and the
// habit; nothing worse is there. link is from 0 to below 1.
func AllShare(link, z, floor, odds, habit float64) float64 {
	pull, own := math.Sqrt(link)*z, math.Sqrt(1-link)
	all := math.Log(habit*odds) + logDensityAt(floor, pull, own)
	more := math.Log(1-habit) + logCDF((pull-floor)/own)
	return 1 / (1 + math.Exp(more-all))
}

// ScoreOpen returns the quantile p, in (0,1), of an open score, given the factor z and the
// habit.
func ScoreOpen(link, z, floor, odds, habit, p float64) float64 {
	all := AllShare(link, z, floor, odds, habit)
	if p <= all {
		return floor
	}
	return ScoreAbove(link, z, floor, (p-all)/(1-all))
}
