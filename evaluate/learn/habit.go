package learn

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
)

// What review may say of habits (METHOD.md 16.23): the chance of one false fact in a review, and the widest interval,
// high over low, that is printed.
const (
	falseFacts    = 0.05
	widest        = 10.0
	z975          = 1.959963984540054
	habitInterval = 0.95
)

// A Habit is how dear a class runs in this workshop, by the builds alone: actual over expected, given what was found.
type Habit struct {
	Class damage.Class
	// Ratio is actual over expected; Low and High hold it with 95 %. All are 0 where TooFew.
	Ratio, Low, High float64
	// P is the chance of so large a departure in a workshop without the habit; 1 where TooFew.
	P float64
	// Fact says that it holds with the other classes looked at together (Holm's step-down at 5 %).
	Fact bool
	// TooFew says that the builds alone leave it open by more than 10 to 1.
	TooFew bool
	// Jobs of Builds that it rests on.
	Jobs, Builds int
}

// habits judges each class: level and class together, what the builds alone say of it, the prior taken off.
func habits(o *outcome) []Habit {
	f := o.fit
	_, _, builds, _, _ := o.counts()
	all := make([]Habit, damage.ClassCount)
	for c := range all {
		h := &all[c]
		h.Class, h.Builds, h.P = damage.Class(c), builds[c], 1
		for i := range f.jobs {
			if f.jobs[i].class == c {
				h.Jobs++
			}
		}
		k := colClass + c
		post := f.v.At(colLevel, colLevel) + f.v.At(k, k) + 2*f.v.At(colLevel, k)
		mean := f.beta[colLevel] + f.beta[k]
		alone := 1/post - 1/(levelSD*levelSD+classSD*classSD) // precision of the builds alone
		sd := 1 / math.Sqrt(max(alone, 1e-12))
		if h.Jobs == 0 || math.Exp(2*z975*sd) > widest {
			h.TooFew = true
			continue
		}
		mean *= sd * sd / post
		h.Ratio, h.Low, h.High = math.Exp(mean), math.Exp(mean-z975*sd), math.Exp(mean+z975*sd)
		h.P = 2 * distuv.UnitNormal.CDF(-math.Abs(mean/sd))
	}
	holm(all)
	return all
}

// holm marks the habits that may be stated as fact (Holm 1979, Scandinavian Journal of Statistics 6): from the
// smallest chance on, each against 5 % over the number that are left, until the first that is not below. Classes
// that cannot be judged are not looked at, and do not count.
func holm(all []Habit) {
	order := []int{}
	for i := range all {
		if !all[i].TooFew {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(all[a].P, all[b].P) })
	for k, i := range order {
		if all[i].P >= falseFacts/float64(len(order)-k) {
			return
		}
		all[i].Fact = true
	}
}
