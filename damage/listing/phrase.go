package listing

import (
	"slices"
	"strings"
)

// scan cuts text into terms, the longest phrase first.
func (l *Lexicon) scan(text string) terms {
	tokens := glue(split(text), func(word string) bool { e, _ := l.lookup(word); return e != nil })
	tokens = slices.DeleteFunc(tokens, func(t token) bool { return t.stop == '-' })
	l.correctAll(tokens)
	var ts terms
	for i := 0; i < len(tokens); {
		t := tokens[i]
		if t.stop != 0 {
			ts = append(ts, term{stop: t.stop, from: t.from, to: t.to})
			i++
			continue
		}
		e, n, plural := l.match(tokens[i:])
		if k := l.overlaps(tokens[i:], e, n); k > 0 {
			e, n, plural = l.match(tokens[i : i+k])
		}
		n = max(n, 1)
		fixed := slices.ContainsFunc(tokens[i:i+n], func(t token) bool { return t.fixed })
		ts = append(ts, term{entry: e, plural: plural, from: t.from, to: tokens[i+n-1].to, word: t.text, fixed: fixed})
		i += n
	}
	ts = unbracket(text, l.readDoors(text, ts))
	for i := range ts {
		l.readLight(ts, i)
		l.readShell(ts, i)
	}
	return ts
}

func (l *Lexicon) correctAll(tokens []token) {
	for i, t := range tokens {
		if t.stop == 0 && !l.pairs(tokens, i-1) && !l.pairs(tokens, i) {
			tokens[i].text = l.correct(t.text)
			tokens[i].fixed = tokens[i].text != t.text
		}
	}
}

// pairs reports whether token i and the next are one known word, written apart.
func (l *Lexicon) pairs(tokens []token, i int) bool {
	if i < 0 || i+1 >= len(tokens) || tokens[i].stop != 0 || tokens[i+1].stop != 0 {
		return false
	}
	e, _ := l.lookup(tokens[i].text + tokens[i+1].text)
	return e != nil
}

// match returns the longest phrase that the tokens start with and its number
// of tokens, 0 where there is none. Words that are written apart match a phrase
// that is written together, and the other way round.
func (l *Lexicon) match(tokens []token) (*entry, int, bool) {
	var found *entry
	length, many := 0, false
	key := ""
	for n := 1; n <= len(tokens) && n <= l.longest+1 && tokens[n-1].stop == 0; n++ {
		key += tokens[n-1].text
		e, plural := l.lookup(key)
		if e == nil || n > 1 && plural && len(tokens[n-1].text) <= shortWord {
			// "the ns" is not the plural of "then".
			continue
		}
		found, length, many = e, n, plural
	}
	return found, length, many
}

// overlaps returns the token at which a part begins that goes beyond the phrase e of
// n tokens, which begins with a number: "2 door mirrors" are two mirrors, not "2 door"
// and a mirror. 0 where none does.
func (l *Lexicon) overlaps(tokens []token, e *entry, n int) int {
	first, _, _ := l.match(tokens[:1])
	if e == nil || !(term{entry: e}).plays(doors) && !(term{entry: first}).is(count) {
		return 0
	}
	for k := 1; k < n; k++ {
		if other, m, _ := l.match(tokens[k:]); m > n-k && (term{entry: other}).is(things) {
			return k
		}
	}
	return 0
}

// unbracket takes positions out of brackets, so that they belong to the part
// before them, or where there is none to the part after: "door (n/s)", "(n/s)
// door". It drops the numbers of a list: "1) bonnet 2) bumper".
func unbracket(text string, ts terms) terms {
	out := make(terms, 0, len(ts))
	for i := 0; i < len(ts); i++ {
		if numbers(text, ts, i) {
			continue
		}
		closing := bracketed(text, ts, i)
		if closing < 0 {
			out = append(out, ts[i])
			continue
		}
		end := closing + 1
		if i == 0 || ts[i-1].stop != 0 || ts[i-1].is(link) {
			// The position goes on to the part after the bracket.
			end = closing
		}
		out = append(out, ts[i+1:end]...)
		i = closing
	}
	return out
}

// bracketed returns the closing bracket of the one that term i opens, where
// only positions come between them, else -1.
func bracketed(text string, ts terms, i int) int {
	at := func(j int, runes string) bool {
		return j < len(ts) && ts[j].stop == ',' && strings.ContainsRune(runes, rune(text[ts[j].from]))
	}
	if !at(i, "([") {
		return -1
	}
	k := i + 1
	for k < len(ts) && ts[k].is(positional) {
		k++
	}
	if k == i+1 || !at(k, ")]") {
		return -1
	}
	return k
}

// numbers reports whether term i numbers an item of a list: "2)".
func numbers(text string, ts terms, i int) bool {
	return i+1 < len(ts) && ts[i].stop == 0 && strings.Trim(ts[i].word, "0123456789") == "" &&
		ts[i+1].stop == ',' && text[ts[i+1].from] == ')' &&
		(i == 0 || ts[i-1].stop == 0 || text[ts[i-1].from] != '(')
}

// readLight reads a severity that may be a part, "light", as that part where it
// ends what is said of a position, as in "offside rear light broken", or is one
// of a list of parts.
func (l *Lexicon) readLight(ts terms, i int) {
	if i == 0 || !ts[i].is(severity) || !ts[i].plays(light) {
		return
	}
	if enumerated(ts, i) || ts[i-1].is(positional) && endsPhrase(ts[i+1:]) {
		ts[i].entry = l.playing(light, part)
	}
}

// endsPhrase reports whether the terms that follow leave what is before them
// complete: none, a stop, a link, or real harm.
func endsPhrase(next terms) bool {
	if len(next) == 0 {
		return true
	}
	t := next[0]
	return t.stop != 0 || t.is(link) && !t.links("to") || t.is(harm) && t.sense().level >= 2
}

// enumerated reports whether term i is alone in a list of parts: "bumper,
// light, wing", "bumper, wing and light".
func enumerated(ts terms, i int) bool {
	joins := func(j int) bool {
		t := ts[j]
		return t.stop == ',' || t.stop == '/' || t.stop == '+' || t.links("and")
	}
	if i < 2 || !joins(i-1) || !ts[i-2].is(part) {
		return false
	}
	if i+1 < len(ts) && (ts[i+1].stop == 0 || joins(i+1)) {
		return joins(i + 1)
	}
	earlier := i - 3
	for earlier >= 0 && ts[earlier].stop != '.' && !ts[earlier].is(part) {
		earlier--
	}
	return earlier >= 0 && ts[earlier].is(part)
}

// readShell reads "body", which is mostly panels and paint, as the structure
// where it is said to be straight: "body straight", "straight body".
func (l *Lexicon) readShell(ts terms, i int) {
	if !ts[i].is(class) {
		return
	}
	for _, step := range []int{-1, 1} {
		j := i + step
		for j >= 0 && j < len(ts) && ts[j].is(quiet) {
			j += step
		}
		if j >= 0 && j < len(ts) && ts[j].plays(straight) {
			ts[i].entry = l.playing(shell, part)
		}
	}
}
