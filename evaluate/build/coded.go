package build

import (
	"fmt"
	"strings"

	"wreckoner/damage"
)

// A coded is a zone and a class, with or without a grade (0), as a damage code writes them: "under m", "tail c3".
type coded struct {
	damage.Spot
	grade damage.Grade
}

// mark reads a class and a grade as a code writes them: "c3", "c".
func mark(word string) (class damage.Class, grade damage.Grade, ok bool) {
	if len(word) == 0 || len(word) > 2 {
		return 0, 0, false
	}
	class, err := damage.ParseClass(word[:1])
	if err != nil {
		return 0, 0, false
	}
	if len(word) == 1 {
		return class, 0, true
	}
	grade = damage.Grade(word[1] - '0')
	return class, grade, grade >= 1 && grade <= damage.GradeCount
}

// codesIn finds damage codes among the words of a job: a zone and what follows it of classes and grades. Behind the
// trade's own words for a zone a class counts only with its grade. rest are the other words.
func codesIn(what string) (found []coded, rest string) {
	words := strings.FieldsFunc(straight.Replace(what), func(r rune) bool { return strings.ContainsRune(" \t,;:()[]", r) })
	var others []string
	for i := 0; i < len(words); i++ {
		zone, n, ours := zoneAt(words[i:])
		j := i + n
		for ; n > 0 && j < len(words); j++ {
			class, grade, ok := mark(strings.ToLower(words[j]))
			if !ok || grade == 0 && !ours {
				break
			}
			found = append(found, coded{damage.Spot{Zone: zone, Class: class}, grade})
		}
		if n == 0 || j == i+n {
			others = append(others, words[i])
			continue
		}
		i = j - 1
	}
	return found, strings.Join(others, " ")
}

// zoneAt reads the zone that words start with, and says of how many words it is, 0 for none; ours says that it is
// written as in a code.
func zoneAt(words []string) (z damage.Zone, n int, ours bool) {
	if z, err := damage.ParseZone(words[0]); err == nil {
		return z, 1, true
	}
	if len(words) > 1 {
		if z, err := damage.ParseZone(words[0] + "-" + words[1]); err == nil {
			return z, 2, true
		}
	}
	if z, err := zoneOf(words[0]); err == nil {
		return z, 1, false
	}
	return 0, 0, false
}

// oneJob returns the code that words name; ok is false where they name none, and the error is for more than one.
func oneJob(what string) (c coded, rest string, ok bool, err error) {
	found, rest := codesIn(what)
	switch {
	case len(found) == 0:
		return coded{}, what, false, nil
	case len(found) > 1:
		return coded{}, what, false, fmt.Errorf("%q names %d jobs; write a row for each, with its part of the money and the "+
			"hours", what, len(found))
	}
	if rest == "" {
		rest = what
	}
	return found[0], rest, true, nil
}

// classGrade reads a class with or without a grade behind it, in people's words too, and by the start of its name:
// "c", "c3", "cosmetic 2", "mech", "bodywork".
func classGrade(text string) (class damage.Class, grade damage.Grade, err error) {
	word := wordKey(text)
	if n := len(word); n > 1 && word[n-1] >= '1' && word[n-1] < '1'+damage.GradeCount {
		grade = damage.Grade(word[n-1] - '0')
		word = strings.TrimRight(word[:n-1], " -")
	}
	if letter := meaning("class", word); letter != "" {
		word = letter
	}
	if class, err = damage.ParseClass(word); err == nil {
		return class, grade, nil
	}
	const shortest = 4
	for _, c := range damage.Classes() {
		if len(word) >= shortest && strings.HasPrefix(c.String(), word) {
			return c, grade, nil
		}
	}
	_, err = damage.ParseClass(text)
	return 0, 0, fmt.Errorf("%w, with or without a grade behind it, such as c3", err)
}
