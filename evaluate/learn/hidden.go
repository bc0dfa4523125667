package learn

import (
	"math"
)

// Priors of what is learned of hidden damage (METHOD.md 16.8): log odds of all rules together, a rule's own chance.
var oddsPrior = mix{{0.3, 0.1}, {0.7, 0.6}}

const (
	oddsCauseSD = 0.6
	ruleWorth   = 3.0 // how many times its `seen` a rule's own chance is worth
	leastRule   = 0.005
	mostRule    = 0.97
)

var oddsGrid = grid(-2, 2, 40)

// A finding is something hidden or suspected that was looked for.
type finding struct {
	car      int
	happened bool
	rules    []int   // rules that could bring it; none for a suspected mark
	own      float64 // chance of a suspected mark
}

// findings lists what was looked for in each car, in the order of the cars and spots (METHOD.md 16.5).
func findings(cars []*car, rows *rowIndex) (all []finding) {
	for ci, c := range cars {
		if c.build.State == Open {
			continue
		}
		for _, m := range c.build.Marks {
			f := c.spots[m.Spot.Index()]
			for _, u := range m.Suspected {
				if f.known && f.grade <= u.Grade {
					all = append(all, finding{car: ci, happened: f.grade == u.Grade, own: u.Chance})
				}
			}
		}
		for _, h := range c.build.Candidates {
			f := c.spots[h.Spot.Index()]
			if !f.known || f.grade > h.Grade {
				continue // not looked for, or masked by something worse
			}
			if m := c.mark(h.Spot); m.Seen > 0 && h.Grade == m.Seen+1 {
				continue // step 1 has it: it cannot be told from the coding
			}
			if rules := c.could(h, rows); len(rules) > 0 {
				all = append(all, finding{car: ci, happened: f.grade == h.Grade, rules: rules})
			}
		}
	}
	return all
}

// could lists the rules that applied to a candidate, as its triggers turned out.
func (c *car) could(h Candidate, rows *rowIndex) (all []int) {
	for _, t := range h.Triggers {
		if r := t.Rule[c.occurs(t.Spot, rows)]; r >= 0 {
			all = append(all, r)
		}
	}
	return all
}

// A hit is what is known of the severity of each build and of hidden damage.
type hit struct {
	odds       Figure
	evidence   float64
	mean, vari []float64 // of each car's severity Z, given what was found in it
	rules      []RuleLesson
}

// A RuleLesson is what was learned of one hidden rule.
type RuleLesson struct {
	// Set is the table's chance, Mean what builds make of it, SD how sure that is, Written what to write.
	Set, Mean, SD, Written float64
	// Finds of Expected: how often it was found where it could be, and how often the learned odds expect.
	Finds, Expected float64
	// Builds in which its trigger was there and somebody looked.
	Builds int
}

// learnHidden is steps 2 and 3 of METHOD.md 16.8.
func learnHidden(all []finding, n int, rules []Rule, link float64) *hit {
	h := &hit{mean: make([]float64, n), vari: make([]float64, n), rules: make([]RuleLesson, len(rules))}
	logs := make([]float64, len(oddsGrid))
	for i, w := range oddsGrid {
		logs[i] = buildsGiven(all, n, rules, w, link)
	}
	zero := len(oddsGrid) / 2
	slab := make([]float64, len(logs))
	whole := make([]float64, len(logs))
	post := make([]float64, len(logs))
	for i, w := range oddsGrid {
		d := -0.5 * (w / oddsCauseSD) * (w / oddsCauseSD)
		slab[i], whole[i] = d, d+logs[i]-logs[zero]
		post[i] = logs[i] + oddsPrior.log(w)
	}
	h.evidence = logSum(whole) - logSum(slab)
	normalize(post)
	if len(all) > 0 {
		h.odds.Mean, h.odds.SD = moments(oddsGrid, post)
	}
	h.odds.Builds = carsIn(all)
	h.severity(all, rules, link)
	return h
}

func carsIn(all []finding) (n int) {
	last := -1
	for _, f := range all {
		if f.car != last {
			n, last = n+1, f.car
		}
	}
	return n
}

// chance returns the chance of a finding with all rules' odds times exp(w).
func (f *finding) chance(rules []Rule, w float64) float64 {
	if f.rules == nil {
		return f.own
	}
	not := 1.0
	for _, r := range f.rules {
		not *= 1 - odds(rules[r].Chance, w)
	}
	return 1 - not
}

// buildsGiven returns the log likelihood of all findings at log odds w, each build's severity summed out.
func buildsGiven(all []finding, n int, rules []Rule, w, link float64) (sum float64) {
	nodesOf(all, n, rules, w, link, func(_ int, logs *[nodeCount]float64) {
		for k := range logs {
			logs[k] += math.Log(weights[k])
		}
		sum += logSum(logs[:])
	})
	return sum
}

// nodesOf calls do for each car with the log likelihood of its findings at each node of Z.
func nodesOf(all []finding, n int, rules []Rule, w, link float64, do func(car int, logs *[nodeCount]float64)) {
	i := 0
	for c := range n {
		var logs, one [nodeCount]float64
		for ; i < len(all) && all[i].car == c; i++ {
			conditional(all[i].chance(rules, w), link, all[i].happened, &one)
			for k := range logs {
				logs[k] += one[k]
			}
		}
		do(c, &logs)
	}
}

// severity works out what is known of each car's Z, then each rule's own chance given that.
func (h *hit) severity(all []finding, rules []Rule, link float64) {
	w := h.odds.Mean
	post := make([][nodeCount]float64, len(h.mean))
	nodesOf(all, len(h.mean), rules, w, link, func(c int, logs *[nodeCount]float64) {
		for k := range logs {
			logs[k] += math.Log(weights[k])
		}
		normalize(logs[:])
		post[c] = *logs
		m, sd := moments(nodes[:], logs[:])
		h.mean[c], h.vari[c] = m, max(sd*sd, 1e-3)
	})
	last := make([]int, len(rules))
	for i := range last {
		last[i] = -1
	}
	for i := range all {
		f := &all[i]
		if f.rules == nil {
			continue
		}
		var one [nodeCount]float64
		conditional(f.chance(rules, w), link, true, &one)
		expected := 0.0
		for k := range one {
			expected += math.Exp(one[k]) * post[f.car][k]
		}
		h.share(f, expected, rules, last)
	}
	for i, r := range rules {
		h.rules[i].settle(r, w)
	}
}

// share gives a finding to the rules that could bring it, by their chances.
func (h *hit) share(f *finding, expected float64, rules []Rule, last []int) {
	total := 0.0
	for _, r := range f.rules {
		total += odds(rules[r].Chance, h.odds.Mean)
	}
	for _, r := range f.rules {
		part := 1 / float64(len(f.rules))
		if total > 0 {
			part = odds(rules[r].Chance, h.odds.Mean) / total
		}
		l := &h.rules[r]
		l.Expected += expected * part
		if f.happened {
			l.Finds += part
		}
		if last[r] != f.car {
			l.Builds, last[r] = l.Builds+1, f.car
		}
	}
}

// settle works out the rule's own chance from what the odds of all rules leave over (METHOD.md 16.9).
func (l *RuleLesson) settle(r Rule, w float64) {
	l.Set = r.Chance
	l.Mean, l.SD = l.at(r, w)
}

// at returns the rule's chance and its standard deviation where all rules' log odds moved by w.
func (l *RuleLesson) at(r Rule, w float64) (mean, sd float64) {
	p := r.Chance
	if w != 0 {
		p = odds(r.Chance, w)
	}
	prior := ruleWorth * r.Seen * p
	if prior == 0 {
		return p, 0
	}
	if l.Builds > 0 {
		p = min(max(p*(prior+l.Finds)/(prior+l.Expected), min(leastRule, p)), max(mostRule, p))
	}
	return p, p / math.Sqrt(prior+l.Finds)
}

// A Figure is what is known of one figure of the workshop.
type Figure struct {
	// Set is the workshop's own figure, Mean what builds make of it, SD how sure that is.
	Set, Mean, SD float64
	// Builds that it rests on.
	Builds int
	// Written is what to write, given how much the builds speak for a change.
	Written float64
}
