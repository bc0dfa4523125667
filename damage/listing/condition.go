package listing

import (
	"math"
	"wreckoner/damage"
)

// A condition is what is said to be wrong, or not.
type condition struct {
	// said is whether any harm, severity or soundness was said.
	said bool
	// level is how bad, 0 for unsaid.
	level int
	// harms are the words with marks of their own.
	harms []sense
	// confined is damage of one class only, by a word of class: "scuffed".
	confined bool
	class    sense
	// sound is a mention that is said to be in order, or not to be there.
	sound bool
	// hedged is a mention that is only suspected, at percent (0: the default).
	hedged  bool
	percent int
	// repaired is a mention that has been put right since.
	repaired bool
	// unseen is a mention that nobody looked at: suspected at percent at most.
	unseen bool
	// slight is damage that a word makes small or that polishes out: it needs no paint.
	slight bool
	// cut is damage by what cuts and does not push.
	cut bool
	// cracked is damage that no straightening cures.
	cracked bool
	// panels is how many panels are said to be damaged, 0 where that is not said.
	panels int
	// fired is what only bags and belts do: "deployed".
	fired bool
	terms terms
}

// hot reports whether the damage came from fire: what lies behind a burnt panel
// was not pushed.
func (h condition) hot() bool { return h.terms.plays(hot) }

// A conditionReader adds up what the terms of a clause say.
type conditionReader struct {
	condition
	all terms
	// base is the level of the harms, degree that of the words of severity.
	base, degree int
	// harmed and sounds are whether any word said so; undone that work is still
	// to be done; bends that a harm is more than paint; only that a word names the
	// class; open that damage is what nobody looked for.
	harmed, sounds, undone, bends, only, open bool
	// cuts counts the harms that cut; words counts the harms, deployed those that bags and belts do.
	words, deployed, cuts int
}

// conditionRules say what each kind of word adds, term i of all.
var conditionRules = []struct {
	kind kind
	add  func(r *conditionReader, i int, t term)
}{
	{harm, (*conditionReader).addHarm},
	{severity, func(r *conditionReader, _ int, t term) { r.degree, r.harmed = max(r.degree, t.sense().level), true }},
	{class, (*conditionReader).addClass},
	{sound, func(r *conditionReader, i int, _ term) {
		negated := i > 0 && r.all[i-1].is(negation)
		r.harmed, r.sounds = r.harmed || negated, r.sounds || !negated
	}},
	{repaired, func(r *conditionReader, i int, _ term) {
		// "dented bonnet replaced", but not "repaired bonnet dented" or "needs
		// wing replaced".
		r.repaired = !r.undone && !r.all[i:].has(harm|severity|sound|negation) && !r.all[:i].has(negation|hedge)
	}},
	{unseen, (*conditionReader).addUnseen},
}

func (r *conditionReader) addHarm(_ int, t term) {
	r.harmed = true
	r.undone = r.undone || t.plays(undone)
	r.words++
	if t.plays(shallow) {
		r.slight = true
	}
	r.cracked = r.cracked || t.plays(crack)
	if t.plays(cut) {
		r.cuts++
	}
	for _, s := range t.senses {
		r.base = max(r.base, s.level)
		r.bends = r.bends || !s.hasClass && s.level >= 2 || s.hasClass && s.class == damage.Structural
		switch {
		case !s.hasClass:
		case s.class == damage.Restraint:
			r.deployed++
		case s.grade == 0:
			r.confined, r.class = true, s
		default:
			r.harms = append(r.harms, s)
		}
	}
}

func (r *conditionReader) addClass(i int, t term) {
	if before := r.all[:i].back(i-1, quiet|positional); t.plays(panel) && before >= 0 && r.all[before].is(part) {
		// "sill outer panel"
		return
	}
	if i > 0 && r.all[i-1].is(count) && t.plays(panel) {
		r.panels = r.all[i-1].sense().number
	}
	r.confined, r.class, r.only = true, t.sense(), true
}

func (r *conditionReader) addUnseen(i int, t term) {
	is := func(j int, k kind) bool { return j >= 0 && j < len(r.all) && r.all[j].is(k) }
	r.unseen, r.percent = true, t.sense().percent
	r.open = r.open || is(i-1, harm) && r.all[i-1].plays(plainDamage)
	r.hedged = is(i+1, harm) || is(i+1, fitting) && is(i+2, harm)
}

// conditionOf reads what the terms of one clause say is wrong.
func conditionOf(ts terms) condition {
	r := conditionReader{all: ts}
	for i, t := range ts {
		for _, rule := range conditionRules {
			if t.is(rule.kind) {
				rule.add(&r, i, t)
				if rule.kind != class {
					r.terms = append(r.terms, t)
				}
			}
		}
	}
	return r.result()
}

func (r *conditionReader) result() condition {
	h := r.condition
	// A scratch beside a bend confines nothing, the word "cosmetic" does.
	h.confined = h.confined && (r.only || !r.bends)
	// "structural damage unknown"
	h.unseen = h.unseen && (!r.harmed || r.open) && !r.sounds
	h.said = r.harmed || r.sounds || h.repaired || h.unseen
	h.hedged = h.hedged || h.unseen
	h.fired = r.words > 0 && r.deployed == r.words
	h.sound = r.sounds && !r.harmed || h.repaired
	h.level = r.level()
	h.slight = h.slight || r.degree == 1
	h.cut = r.cuts > 0 && r.cuts == r.words
	h.level = min(h.level, r.mostLevel(&h))
	return h
}

// mostLevel is how bad it can be where nothing is bent.
func (r *conditionReader) mostLevel(h *condition) int {
	switch {
	case r.bends:
	case r.slight:
		return 1
	case h.confined && h.class.class == damage.Cosmetic && r.base > 0:
		// However badly paint is scratched, the panel stays.
		return paintLevel
	}
	return math.MaxInt
}

// paintLevel is how bad damage to paint alone can be: the panel is painted.
const paintLevel = 2

// level is that of the harms, one less or more for words of severity: "slightly
// bent", "badly bent".
func (r *conditionReader) level() int {
	switch {
	case r.base == 0:
		return r.degree
	case r.degree == 1:
		return max(r.base-1, 1)
	case r.degree >= 3:
		return min(r.base+1, 4)
	}
	return r.base
}
