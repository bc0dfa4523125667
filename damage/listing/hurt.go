package listing

import (
	"slices"
	"strings"

	"wreckoner/damage"
)

// hurt is what is said to be wrong.
type hurt struct {
	// said is whether any harm, severity or soundness was said.
	said bool
	// level is how bad, 0 for unsaid.
	level int
	// harms are the words with marks of their own.
	harms []sense
	// confined is damage of one class only, by a word of class: "scuffed".
	confined bool
	class    sense
	// ruled is a mention that is said to be in order, or absent.
	ruled bool
	// hedged is a mention that is only suspected, at percent (0: the shop's).
	hedged  bool
	percent int
	// mended is a mention that has been put right since.
	mended bool
	// unseen is a mention that nobody looked at: suspected at percent at most.
	unseen bool
	// fired is what only bags and belts do: "deployed".
	fired bool
	terms []term
}

// panelOf reports whether the word is part of the name of what stands before it:
// "sill outer panel".
func panelOf(before []term, t term) bool {
	for i := len(before) - 1; i >= 0; i-- {
		if !quiet(before[i]) && !before[i].is(position) {
			return strings.HasPrefix(t.word, "panel") && before[i].is(part)
		}
	}
	return false
}

// hot reports whether the damage came from fire: what lies behind a burnt panel
// was not pushed.
func (h hurt) hot() bool {
	return slices.ContainsFunc(h.terms, func(t term) bool { return t.is(harm) && t.key == "burnt" })
}

// wanting is the lexicon's group of words that say what is still to be done.
const wanting = "needs"

// ownHurt reads what the terms of one chunk say is wrong.
func ownHurt(terms []term) hurt {
	var h hurt
	base, level := 0, 0
	sounds, harms, wants := false, false, false
	mends, bends, only, open := false, false, false, false
	all, fired := 0, 0
	for i, t := range terms {
		switch {
		case t.is(harm):
			harms = true
			wants = wants || t.key == wanting
			all++
			for _, s := range t.senses {
				base = max(base, s.level)
				bends = bends || !s.hasClass && s.level >= 2 || s.hasClass && s.class == damage.Structural
				if s.hasClass && s.class == damage.Restraint {
					fired++
				} else if s.hasClass && s.grade == 0 {
					h.confined, h.class = true, s
				} else if s.hasClass {
					h.harms = append(h.harms, s)
				}
			}
		case t.is(severity):
			level = max(level, t.first().level)
			harms = true
		case t.is(class):
			if !panelOf(terms[:i], t) {
				h.confined, h.class, only = true, t.first(), true
			}
			continue
		case t.is(sound):
			if i > 0 && terms[i-1].is(negation) {
				harms = true
			} else {
				sounds = true
			}
		case t.is(mended):
			// "dented bonnet replaced", but not "repaired bonnet dented" or
			// "needs wing replaced".
			mends = !wants
			after := slices.ContainsFunc(terms[i:], func(t term) bool { return t.is(harm, severity, sound, negation) })
			before := slices.ContainsFunc(terms[:i], func(t term) bool { return t.is(negation, hedge) })
			mends = mends && !after && !before
		case t.is(unseen):
			h.unseen, h.percent = true, t.first().percent
			open = open || i > 0 && terms[i-1].is(harm) && slices.Contains([]string{"damage", "fault", "faults"}, terms[i-1].word)
			h.hedged = i+1 < len(terms) && terms[i+1].is(harm) || i+2 < len(terms) && terms[i+1].is(fitting) && terms[i+2].is(harm)
		default:
			continue
		}
		h.terms = append(h.terms, t)
	}
	// A scratch beside a bend confines nothing, the word "cosmetic" does.
	h.confined = h.confined && (only || !bends)
	h.mended = mends
	// "structural damage unknown"
	h.unseen = h.unseen && (!harms || open) && !sounds
	h.said = harms || sounds || mends || h.unseen
	h.hedged = h.hedged || h.unseen
	h.fired = all > 0 && fired == all
	h.ruled = sounds && !harms || mends
	switch {
	case base == 0:
		h.level = level
	case level == 1:
		h.level = max(base-1, 1)
	case level >= 3:
		h.level = min(base+1, 4)
	default:
		h.level = base
	}
	return h
}
