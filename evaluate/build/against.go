package build

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// An Expected is what a frozen estimate says of a build's price: the hammer price, and what it is with VAT on it, 0
// where the lot has none.
type Expected struct{ Hammer, WithVAT money.Pence }

// Expected returns what the estimate says of the price.
func (f *Frozen) Expected() (Expected, error) {
	d, err := f.deal()
	if err != nil {
		return Expected{}, err
	}
	x := Expected{Hammer: f.Hammer}
	if with := f.Hammer + d.Rate.Of(f.Hammer); d.WithVAT(with, f.Hammer) {
		x.WithVAT = with
	}
	return x, nil
}

// Against says what in the ledger does not fit the frozen builds, which are
// given by name: another price than was frozen, a build that is nearly spelt like
// one of them, rows of several cars together, dates after today.
func (l *Ledger) Against(frozen map[string]Expected, today time.Time) (notices []string) {
	say := func(format string, args ...any) {
		notices = append(notices, l.File+": "+fmt.Sprintf(format, args...))
	}
	names := slices.Sorted(maps.Keys(frozen))
	known := func(b *Build) (Expected, bool) {
		for name, x := range frozen {
			if tabular.Canonical(name) == tabular.Canonical(b.Name) {
				return x, true
			}
		}
		return Expected{}, false
	}
	var late []Entry
	for _, b := range l.Builds {
		x, ok := known(b)
		if !ok {
			l.stranger(b, names, say)
			continue
		}
		switch row := b.Hammer.Pence; {
		case !b.Hammer.Given || row == x.Hammer:
		case x.WithVAT > 0 && row-x.WithVAT < 100 && x.WithVAT-row < 100:
			say("the hammer price of %s of %q is the estimate's %s with VAT on it: it counts as written, and VAT comes "+
				"on top of it; write the price as called, %s", row, b.Name, x.Hammer, x.Hammer)
		default:
			say("the estimate of build %q has a hammer price of %s and the ledger %s; the ledger's counts", b.Name, x.Hammer,
				row)
		}
		for _, e := range b.Entries {
			if e.Date.After(today) {
				late = append(late, e)
			}
		}
	}
	slices.SortStableFunc(late, func(a, b Entry) int { return a.Line - b.Line })
	switch day := time.DateOnly; len(late) {
	case 0:
	case 1:
		notices = append(notices, fmt.Sprintf("%s:%d: %s is after today; is it mistyped? days are counted up to it", l.File,
			late[0].Line, late[0].Date.Format(day)))
	default:
		last := slices.MaxFunc(late, func(a, b Entry) int { return a.Date.Compare(b.Date) })
		say("%d rows are dated after today, from line %d (%s) on, the latest %s on line %d; is the year right? days are "+
			"counted up to them", len(late), late[0].Line, late[0].Date.Format(day), last.Date.Format(day), last.Line)
	}
	return notices
}

// CallByLot gives cars that the ledger calls by their lot numbers, as in 101 or lot 101, the names of the estimates: where
// one estimate alone is of that lot, and the ledger does not have its name as well. It says which.
func (l *Ledger) CallByLot(frozen []*Frozen) (said []string) {
	names := map[string][]string{} // by lot
	for _, f := range frozen {
		key := tabular.NameKey(f.Kept.Lot)
		names[key] = append(names[key], f.Build)
	}
	for _, b := range l.Builds {
		if slices.ContainsFunc(frozen, func(f *Frozen) bool { return tabular.NameKey(f.Build) == tabular.NameKey(b.Name) }) {
			continue
		}
		of := names[strings.TrimPrefix(tabular.NameKey(b.Name), "lot ")]
		if len(of) != 1 {
			continue
		}
		if _, both := l.Build(of[0]); !both {
			said = append(said, fmt.Sprintf("%s: %q is read as the build %q, by its lot", l.File, b.Name, of[0]))
			b.Name = of[0]
		}
	}
	return said
}

// together are words that stand for several cars.
var together = []string{"both", "all", "two", "both cars", "all cars", "two cars", "shared", "each", "various", "several"}

// stranger says what a build is that none of the estimates has: a name that is mistyped, or several cars together.
func (l *Ledger) stranger(b *Build, names []string, say func(string, ...any)) {
	words := plainWords(b.Name)
	several := slices.Contains(together, strings.Join(words, " "))
	if slices.Contains(words, "and") {
		for _, name := range names {
			phrase := " " + strings.Join(plainWords(name), " ") + " "
			several = several || strings.Contains(" "+strings.Join(words, " ")+" ", phrase)
		}
	}
	if n := len(b.Entries) + b.Faults; several {
		say("%s of %q is not counted: write a row for each car, with its share", tabular.Count(n, "row"), b.Name)
		return
	}
	if near := meant(b.Name, names); near != "" {
		say("no estimate has the build name %q; did you mean %q? its rows are not counted", b.Name, near)
	}
}

// meant returns which of some names somebody who wrote another most likely meant: one with the same figures, such as
// "sale 102" for "sale 1O2" or "lot 102", or where there are none, one with a slip of the keyboard.
func meant(name string, among []string) string {
	own := digits(name)
	if near := tabular.Nearest(name, among); near != "" && digits(near) == own {
		return near
	}
	if i := slices.IndexFunc(among, func(n string) bool { return own != "" && digits(n) == own }); i >= 0 {
		return among[i]
	}
	return ""
}

// digits are what tells "sale 101" from "sale 102". Letters that look like figures count as such in a word that has
// one.
func digits(name string) string {
	var all strings.Builder
	between := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }
	for _, word := range strings.FieldsFunc(name, between) {
		if strings.ContainsAny(word, "0123456789") {
			word = strings.NewReplacer("O", "0", "o", "0", "I", "1", "l", "1").Replace(word)
		}
		for _, r := range word {
			if unicode.IsDigit(r) {
				all.WriteRune(r)
			}
		}
	}
	return all.String()
}
