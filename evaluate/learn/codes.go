package learn

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"wreckoner/damage"
)

// Priors of the chance that a grade is coded one too low or too high (METHOD.md 16.4): half a beta distribution
// worth 100 marks, half one worth 5. The diagnosis sets one worth 8 against the set chance itself.
const (
	loyalMarks, openMarks, causeMarks = 100, 5, 8
	leastChance                       = 0.005
)

// A tally is how often something happened: hits of marks, which count by their coded_from factor, in how many builds.
type tally struct {
	hits, marks float64
	builds      int
}

// A watched is a seen mark whose grade is known: whether it could turn out worse or better, and whether it did.
type watched struct {
	up, down       bool
	worse, better  bool
	factor, hidden float64 // coded_from; chance that a rule makes it one worse
	car            int
}

// watch lists the seen marks that tell of the coding.
func watch(cars []*car, t *Table, rows *rowIndex) (all []watched) {
	for ci, c := range cars {
		for _, m := range c.build.Marks {
			f := c.spots[m.Spot.Index()]
			if m.Seen == 0 || len(m.Suspected) > 0 || m.Quoted || !f.known || f.grade > m.Seen+1 {
				continue
			}
			w := watched{car: ci, factor: m.CodedFrom}
			if w.factor == 0 {
				w.factor = 1
			}
			w.up = rows.of(m.Spot, m.Seen+1) >= 0 && (m.Clear == 0 || m.Seen+1 < m.Clear)
			w.worse = f.grade == m.Seen+1
			w.down = rows.of(m.Spot, m.Seen-1) >= 0 && !w.worse
			w.better = f.grade == m.Seen-1
			w.hidden = c.raised(m, t)
			all = append(all, w)
		}
	}
	return all
}

// raised returns the chance that hidden rules make a seen mark's damage one grade worse, each trigger as it was coded.
func (c *car) raised(m Mark, t *Table) float64 {
	not := 1.0
	for _, h := range c.build.Candidates {
		if h.Spot != m.Spot || h.Grade != m.Seen+1 {
			continue
		}
		for _, tr := range h.Triggers {
			if r := tr.Rule[c.mark(tr.Spot).Seen]; r >= 0 {
				not *= 1 - t.Rules[r].Chance
			}
		}
	}
	return 1 - not
}

// A coding is what was learned of the codes.
type coding struct {
	up, down Chance
	evidence float64 // log Bayes factor of other chances against the set ones
}

// A Chance is what is known of a chance.
type Chance struct {
	// Set is the workshop's figure, Mean what builds make of it, SD how sure that is.
	Set, Mean, SD float64
	// Hits of Marks: those that came out so, less what hidden rules account for, of those that could.
	Hits, Marks float64
	// Builds with such a mark.
	Builds int
}

// learnCodes is step 1 of METHOD.md 16.4.
func learnCodes(marks []watched, up, down float64) coding {
	c := coding{up: Chance{Set: up, Mean: up}, down: Chance{Set: down, Mean: down}}
	var bu, bd float64
	for range 5 {
		u, d := count(marks, c.up.Mean)
		bu, bd = c.up.learn(u), c.down.learn(d)
	}
	c.evidence = bu + bd
	return c
}

// count counts marks that came out one grade worse, less what hidden rules account for where the chance of the coding
// is up, and one better.
func count(marks []watched, up float64) (u, d tally) {
	lastUp, lastDown := -1, -1
	for _, w := range marks {
		if w.up {
			u.marks += w.factor
			if w.worse {
				p := min(0.95, max(up, leastChance)*w.factor)
				u.hits += p / (1 - (1-p)*(1-w.hidden))
			}
			if w.car != lastUp {
				u.builds, lastUp = u.builds+1, w.car
			}
		}
		if w.down {
			d.marks += w.factor
			if w.better {
				d.hits++
			}
			if w.car != lastDown {
				d.builds, lastDown = d.builds+1, w.car
			}
		}
	}
	return u, d
}

// learn updates a chance by a tally and returns the log Bayes factor against the set chance (METHOD.md 16.4, 16.19).
func (c *Chance) learn(t tally) float64 { return c.learnWorth(t, [2]float64{loyalMarks, openMarks}) }

// learnWorth is learn with a prior of two halves worth so many marks.
func (c *Chance) learnWorth(t tally, worth [2]float64) float64 {
	c.Hits, c.Marks, c.Builds = t.hits, t.marks, t.builds
	p0 := min(max(c.Set, leastChance), 1-leastChance)
	x, n := t.hits, max(t.marks, t.hits)
	var logs, mean, square [2]float64
	for i, k := range worth {
		a, b := k*p0, k*(1-p0)
		logs[i] = mathext.Lbeta(a+x, b+n-x) - mathext.Lbeta(a, b)
		mean[i] = (a + x) / (k + n)
		square[i] = mean[i]*mean[i] + mean[i]*(1-mean[i])/(k+n+1)
	}
	normalize(logs[:])
	c.Mean = logs[0]*mean[0] + logs[1]*mean[1]
	c.SD = math.Sqrt(max(0, logs[0]*square[0]+logs[1]*square[1]-c.Mean*c.Mean))
	a, b := causeMarks*p0, causeMarks*(1-p0)
	return mathext.Lbeta(a+x, b+n-x) - mathext.Lbeta(a, b) - likelihood(x, n, c.null(p0, x, n))
}

// null is the chance that stands for "as set": p0, or where less than the least chance is set, whatever of up to that
// fits best. A workshop that never allows for a misread code is not told that it misreads fewer than one in 200.
func (c *Chance) null(p0, x, n float64) float64 {
	if c.Set >= leastChance || n == 0 {
		return p0
	}
	return min(max(c.Set, x/n), leastChance)
}

// likelihood is the log likelihood of a chance given x of n.
func likelihood(x, n, p float64) float64 {
	sum := (n - x) * math.Log1p(-p)
	if x > 0 {
		sum += x * math.Log(p)
	}
	return sum
}

// mean returns the mean over the classes.
func mean(x [damage.ClassCount]float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(damage.ClassCount)
}

// scaled returns the set chances by class, all multiplied so that their mean is the learned one; where all are 0, the
// learned chance for each.
func scaled(set [damage.ClassCount]float64, learned float64) [damage.ClassCount]float64 {
	m := mean(set)
	for i := range set {
		if m == 0 {
			set[i] = learned
		} else {
			set[i] = min(0.95, set[i]*learned/m)
		}
	}
	return set
}
