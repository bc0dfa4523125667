package listing

import (
	"slices"
)

func (r *reader) readExtras(p parsed) {
	for _, c := range p.chunks {
		for i, t := range c.terms {
			if !t.is(extra) {
				continue
			}
			if c.any(func(t term) bool { return t.is(unseen) }) || slices.ContainsFunc(c.terms[:i], func(t term) bool { return t.is(hedge) }) {
				r.clues = append(r.clues, &clue{terms: []term{t}, note: "not known"})
				continue
			}
			s := t.first()
			value := s.value
			negated := slices.ContainsFunc(c.terms[:i], func(t term) bool { return t.is(negation) }) ||
				i+1 < len(c.terms) && slices.ContainsFunc(c.terms[i+1:], func(t term) bool { return t.is(negation) }) && !partFollows(c.terms[i+1:])
			if negated {
				value = opposite(value)
			}
			// What is said not to work outweighs what is said to.
			if r.extras[s.column] != "no" {
				r.extras[s.column] = value
			}
			r.clues = append(r.clues, &clue{terms: []term{t}, note: s.column + " = " + value})
		}
	}
}

func opposite(value string) string {
	switch value {
	case "yes":
		return "no"
	case "no":
		return "yes"
	}
	return value
}
