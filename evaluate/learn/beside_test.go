package learn_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/learn"
)

// priceYears are jobs on one row, two a build, over four years: what each cost over how long it took grows by a drift a
// year beyond the 3 % that are set, and scatters by a log spread, which a build's jobs share in part.
func priceYears(s *shop, builds int, drift, apart float64, r *rand.Rand) (all []learn.Build) {
	row := s.rowOf("nose", "c", 2)
	spend, hours := newShape(s.spend[row]), newShape(s.hours[row])
	for i := range builds {
		years := 4 * (float64(i) + 0.5) / float64(builds)
		day := priced.Add(time.Duration(years * 365.25 * 24 * float64(time.Hour)))
		b := learn.Build{Name: fmt.Sprintf("b%03d", i), Sale: day}
		common := r.NormFloat64()
		for _, z := range []damage.Zone{damage.Nose, damage.Tail} {
			u := r.NormFloat64()
			off := apart * (math.Sqrt(0.3)*common + math.Sqrt(0.7)*r.NormFloat64())
			b.Jobs = append(b.Jobs, learn.Job{Spot: damage.Spot{Zone: z, Class: damage.Cosmetic}, Grade: 2, Done: true,
				Spend: spend.at(u) * math.Exp((0.03+drift)*years), Hours: hours.at(u) * math.Exp(-off), Day: day})
		}
		all = append(all, b)
	}
	return all
}

// Where spend and hours of a job follow one score, as METHOD.md 7.3 has it, what they cost over how long they took is
// the drift itself: two years of such jobs show it, to the 0.015 a year by which a workshop may itself have become
// quicker. Where they scatter apart, how sure that is follows the scatter: the standard error of a slope over evenly
// spread years (least squares) is apart / sqrt(n sum of squares / n), made larger by what a build's jobs share.
func TestSpendBesideHoursShowsTheDrift(t *testing.T) {
	s := starter(t)
	for _, drift := range []float64{-0.04, 0, 0.05, 0.10} {
		l := must(t, s, priceYears(s, 24, drift, 0, rand.New(rand.NewPCG(1, 1))))
		if math.Abs(l.Beside.Mean-drift) > 0.006 || l.Beside.SD > 0.02 || l.Beside.Builds != 24 {
			t.Errorf("drift %v: spend beside hours says %+v", drift, l.Beside)
		}
		if math.Abs(l.Inflation-0.03-drift) > 0.4*math.Abs(drift)+0.006 {
			t.Errorf("drift %v: inflation %v is written", drift, l.Inflation)
		}
		if named := l.Verdicts[learn.Drift].Named; named != (drift == 0.10) && drift != 0.05 {
			t.Errorf("drift %v: named %v", drift, named)
		}
	}
	const apart, builds = 0.4, 40
	trials := 60
	if testing.Short() {
		trials = 10
	}
	jobs := float64(2 * builds)
	least := apart / math.Sqrt(jobs) / (4 / math.Sqrt(12)) // independent jobs
	most := apart * math.Sqrt((1+0.3)/jobs) / (4 / math.Sqrt(12))
	sum, square, said := 0.0, 0.0, 0.0
	for i := range trials {
		l := must(t, s, priceYears(s, builds, 0.05, apart, rand.New(rand.NewPCG(2, uint64(i)))))
		sum += l.Beside.Mean / float64(trials)
		square += (l.Beside.Mean - 0.05) * (l.Beside.Mean - 0.05) / float64(trials)
		said += math.Sqrt(l.Beside.SD*l.Beside.SD-0.015*0.015) / float64(trials)
	}
	t.Logf("mean %.4f, scatters by %.4f, says %.4f; by least squares %.4f to %.4f", sum, math.Sqrt(square), said, least,
		most)
	if math.Abs(sum-0.05) > 3*most/math.Sqrt(float64(trials))+0.004 {
		t.Errorf("the drift is 0.05; spend beside hours says %.4f on average", sum)
	}
	if out := math.Sqrt(square); out > 1.3*most || said < 0.85*least || said > 1.25*most {
		t.Errorf("it scatters by %.4f and says %.4f, where least squares has %.4f to %.4f", out, said, least, most)
	}
}

// Jobs without hours, jobs of a certain row, and fewer than three builds say nothing beside.
func TestSpendBesideHoursNeedsBoth(t *testing.T) {
	s := starter(t)
	builds := priceYears(s, 24, 0.1, 0, rand.New(rand.NewPCG(1, 1)))
	if l := must(t, s, builds[:2]); l.Beside != (learn.Figure{}) {
		t.Errorf("two builds say %+v", l.Beside)
	}
	for i := range builds {
		for k := range builds[i].Jobs {
			builds[i].Jobs[k].Hours, builds[i].Jobs[k].NoHours = 0, true
		}
	}
	if l := must(t, s, builds); l.Beside != (learn.Figure{}) || l.Jobs != 48 {
		t.Errorf("without hours %+v, %d jobs", l.Beside, l.Jobs)
	}
}
