package lots

import (
	"errors"
	"fmt"
	"strings"
	"sync"

	"wreckoner/damage"
)

// zoneLexicon is what words for a place are read by: the starter's.
var zoneLexicon = sync.OnceValue(func() *Lexicon {
	l, problems, _, err := ReadLexicon("")
	if err != nil || len(problems) > 0 {
		panic(fmt.Sprint("lots: the starter lexicon: ", err, problems)) // the file is embedded
	}
	return l
})

// parseCode reads a damage code as people type it: in capitals, with commas, without spaces, with the trade's short
// forms for zones, and with ; | / or a comma before the next zone.
func parseCode(text string) (damage.Code, error) {
	code, first := damage.Parse(text)
	if first == nil {
		return code, nil
	}
	plain, err := spellOut(text)
	if err != nil {
		var fault *damage.SyntaxError
		var two *HalfSaidError
		if errors.As(first, &fault) && !fault.NoZone && !errors.As(err, &two) {
			return damage.Code{}, first
		}
		return damage.Code{}, err
	}
	if plain == "" || plain == strings.ToLower(strings.TrimSpace(text)) {
		return damage.Code{}, first
	}
	if code, err = damage.Parse(plain); err != nil {
		return damage.Code{}, fmt.Errorf("%q, read as %q: %w", text, plain, err)
	}
	return code, nil
}

// spellOut writes a code with the names of its zones; "" where no zone is said in other words. Words for a place that
// could be two zones are an error.
func spellOut(text string) (string, error) {
	var groups []string
	var zone, marks []string
	end := func() error {
		if len(zone) == 0 && len(marks) == 0 {
			return nil
		}
		name, err := zoneOf(strings.Join(zone, " "), text)
		if err == nil && len(marks) == 0 {
			err = fmt.Errorf("%q: nothing is marked at %q; write what is damaged there, such as %s c2", text,
				strings.Join(zone, " "), name)
		}
		groups = append(groups, strings.Join(append([]string{name}, marks...), " "))
		zone, marks = nil, nil
		return err
	}
	for _, word := range pieces(text) {
		split, isMarks := marksOf(word)
		switch {
		case isMarks && len(zone) == 0 && len(marks) == 0:
			return "", nil // a mark without a zone: the code's own reader says so
		case isMarks:
			marks = append(marks, split...)
		case len(marks) > 0:
			if err := end(); err != nil {
				return "", err
			}
			zone = []string{word}
		default:
			zone = append(zone, word)
		}
	}
	if err := end(); err != nil {
		return "", err
	}
	return strings.Join(groups, "; "), nil
}

// pieces returns the words of a code. A slash within a word of single letters, as in n/s/f, is the word's own.
func pieces(text string) []string {
	var all []string
	for _, word := range strings.FieldsFunc(strings.ToLower(text),
		func(r rune) bool { return strings.ContainsRune(" \t\r\n;|,:&+", r) }) {
		parts := strings.Split(word, "/")
		short := true
		for _, p := range parts {
			short = short && len([]rune(p)) <= 1
		}
		if short {
			if word = strings.Trim(word, "/"); word != "" {
				all = append(all, word)
			}
			continue
		}
		all = append(all, slashed(parts)...)
	}
	return all
}

// slashed joins again the single letters among parts that slashes divided: r2/n/s/f.
func slashed(parts []string) []string {
	var all []string
	var letters []string
	flush := func() {
		if len(letters) > 0 {
			all = append(all, strings.Join(letters, "/"))
			letters = nil
		}
	}
	for _, p := range parts {
		switch {
		case p == "":
		case len([]rune(p)) == 1:
			letters = append(letters, p)
		default:
			flush()
			all = append(all, p)
		}
	}
	flush()
	return all
}

// marksOf splits marks written together: s3c4m1?60.
func marksOf(word string) (marks []string, ok bool) {
	for word != "" {
		if !startsMark(word) {
			return nil, false
		}
		rest := word[2:]
		if rest != "" && isDigit(rest[0]) {
			return nil, false // a grade has one digit
		}
		if after, absent := strings.CutPrefix(rest, "-"); absent {
			rest = after
		} else if after, suspected := strings.CutPrefix(rest, "?"); suspected {
			rest = strings.TrimLeft(after, "0123456789")
		}
		marks = append(marks, word[:len(word)-len(rest)])
		word = rest
	}
	return marks, len(marks) > 0
}

// startsMark reports whether a word starts with the letter of a class and a digit.
func startsMark(word string) bool {
	if len(word) < 2 || !isDigit(word[1]) {
		return false
	}
	_, err := damage.ParseClass(word[:1])
	return err == nil
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// zoneOf returns the name of the zone that words say, or why they don't say one.
func zoneOf(words, text string) (string, error) {
	if z, ok := zoneSpelled(words); ok {
		return z.String(), nil
	}
	if could, ok := halfSaid[strings.NewReplacer("/", "", ".", "", " ", "", "-", "", "'", "").Replace(words)]; ok {
		return "", &HalfSaidError{text: text, words: words, could: could}
	}
	if p, ok := zoneLexicon().Part(words); ok && p.ZoneSure {
		const noKind = "the kind of damage is not said"
		if p.Sure() || strings.HasPrefix(p.Doubt, noKind) && !strings.Contains(p.Doubt, "; not understood") &&
			!strings.Contains(p.Doubt, "was read as") {
			return p.Zone.String(), nil
		}
	}
	return "", fmt.Errorf("%q: %q is not clear as a zone; write one of %s", text, words, zoneList())
}

// zoneSpelled reads a zone's own name, its two words parted by a space or in the other order: front off, off front.
func zoneSpelled(words string) (damage.Zone, bool) {
	names := []string{words}
	if parts := strings.Fields(words); len(parts) == 2 {
		names = append(names, parts[0]+"-"+parts[1])
		if parts[1] == "front" || parts[1] == "rear" { // near side is the nearside, all of it
			names = append(names, parts[1]+"-"+parts[0])
		}
	}
	for _, name := range names {
		if z, err := damage.ParseZone(name); err == nil {
			return z, true
		}
	}
	return 0, false
}

const (
	alongNear = "front-near, side-near or rear-near"
	alongOff  = "front-off, side-off or rear-off"
)

// halfSaid are words that say a side of the car and not where along it, or that people use in two senses: common
// practice, no source.
var halfSaid = map[string]string{
	"ns": alongNear, "nearside": alongNear, "n": alongNear, "near": alongNear, "left": alongNear, "lh": alongNear,
	"lhs": alongNear, "l": alongNear, "ps": alongNear, "passengerside": alongNear, "passengersside": alongNear,
	"passenger": alongNear, "leftside": alongNear, "lefthandside": alongNear,
	"os": alongOff, "offside": alongOff, "o": alongOff, "off": alongOff, "right": alongOff, "rh": alongOff,
	"rhs": alongOff, "ds": alongOff, "driverside": alongOff, "driversside": alongOff, "driver": alongOff,
	"rightside": alongOff, "righthandside": alongOff,
	"side": "side-near or side-off", "corner": "front-near, front-off, rear-near or rear-off",
	"rr": "rear-off or tail", "fr": "front-off or nose", "fl": "front-near or nose", "rl": "rear-near or tail",
}

// A HalfSaidError says that words for a place could be several zones.
type HalfSaidError struct{ text, words, could string }

func (e *HalfSaidError) Error() string {
	return fmt.Sprintf("%q: %q could be %s; write one of them", e.text, e.words, e.could)
}

func zoneList() string {
	var names []string
	for _, z := range damage.Zones() {
		names = append(names, z.String())
	}
	return strings.Join(names, ", ")
}

// looksCoded reports whether a text has a mark in it, and so is meant for a damage code.
func looksCoded(text string) bool {
	for _, word := range pieces(text) {
		if _, ok := marksOf(word); ok {
			return true
		}
		if startsMark(word) {
			return true
		}
	}
	return false
}
