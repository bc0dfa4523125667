package lots

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"wreckoner/damage/listing"
	"wreckoner/evaluate/tabular"
)

// A Coder proposes damage codes for the rows of a list from their descriptions.
type Coder struct {
	// Header is what the columns of the rows that Code returns are called.
	Header []string
	// Coded, Kept, Uncoded and Blank count the lots that were given a code, that
	// had one, and that have none for want of words that say damage, or of words.
	Coded, Kept, Uncoded, Blank int

	lexicon *Lexicon
	all     bool
	explain bool
	width   int // of the list's own rows
	lot     int
	text    int
	damage  int
	extras  []int // of each of the lexicon's, in order
	filled  map[string]int
	unknown map[string]int
	more    int // unknown words that are not counted one by one
}

// mostUnknown is how many different words are counted.
const mostUnknown = 50_000

// The columns that a Coder adds.
const (
	proposedColumn = "proposed"
	unknownColumn  = "not_understood"
	whyColumn      = "why"
)

// coderColumns are those columns, canonical: for a person, and read by nobody.
var coderColumns = []string{tabular.Canonical(proposedColumn), tabular.Canonical(unknownColumn), whyColumn}

// NewCoder returns a coder for the rows of a list. all proposes for every lot, in
// a column of its own; explain adds a column that says which words gave what.
func NewCoder(c *Carrier, l *Lexicon, all, explain bool) *Coder {
	k := &Coder{
		Header: slices.Clone(c.Header), lexicon: l, all: all, explain: explain, width: len(c.Header),
		lot: c.At("lot"), text: c.At("description"), damage: c.At("damage"), filled: map[string]int{},
		unknown: map[string]int{},
	}
	add := func(name string) int {
		k.Header = append(k.Header, k.free(name))
		return len(k.Header) - 1
	}
	if k.damage < 0 {
		k.damage = add("damage")
	}
	for _, name := range l.Extras {
		at := c.At(name)
		if at < 0 {
			at = add(name)
		}
		k.extras = append(k.extras, at)
	}
	if all {
		add(proposedColumn)
	}
	add(unknownColumn)
	if explain {
		add(whyColumn)
	}
	return k
}

// free returns a name that no column has yet.
func (k *Coder) free(name string) string {
	taken := func(n string) bool {
		return slices.ContainsFunc(k.Header, func(h string) bool { return tabular.Canonical(h) == tabular.Canonical(n) })
	}
	unique := name
	for n := 2; taken(unique); n++ {
		unique = fmt.Sprintf("%s_%d", name, n)
	}
	return unique
}

// Code returns the row with what its description gives: a code where damage is
// blank, other columns where they are. explained says which words gave what, one
// a line. Every other cell is as it was.
func (k *Coder) Code(row Carried) (cells []string, explained []string) {
	cells = append(slices.Clone(row.Cells), make([]string, len(k.Header)-k.width)...)
	text := tabular.NewCell(cells[k.text])
	reading, isCode := k.read(text.Text())
	code := ""
	if reading.Code.Coded() {
		code = reading.Code.String()
	}
	switch {
	case tabular.NewCell(cells[k.damage]).Given():
		k.Kept++
	case !text.Given():
		k.Blank++
	case code == "":
		k.Uncoded++
	case isCode:
		k.Kept++
		cells[k.damage] = code
	default:
		k.Coded++
		cells[k.damage] = code
	}
	for i, at := range k.extras {
		name := k.lexicon.Extras[i]
		if value := reading.Extras[name]; value != "" && !tabular.NewCell(cells[at]).Given() {
			cells[at] = value
			k.filled[name]++
		}
	}
	for _, w := range reading.Unknown {
		if _, known := k.unknown[w]; known || len(k.unknown) < mostUnknown {
			k.unknown[w]++
		} else {
			k.more++
		}
	}
	at := len(cells) - 1
	lines := explanation(reading)
	if k.explain {
		cells[at] = strings.Join(lines, "; ")
		at--
	}
	cells[at] = strings.Join(reading.Unknown, " ")
	if k.all {
		cells[at-1] = code
	}
	name := fmt.Sprintf("line %d", row.Line)
	if k.lot >= 0 {
		name = "lot " + tabular.NewCell(cells[k.lot]).Text()
	}
	for _, l := range lines {
		explained = append(explained, name+": "+l)
	}
	return cells, explained
}

// read reads a description. Where a code stands in its place, as in a list of which some lots are coded, that is it.
func (k *Coder) read(text string) (r listing.Reading, isCode bool) {
	if looksCoded(text) {
		if code, err := parseCode(text); err == nil {
			return listing.Reading{Code: code}, true
		}
	}
	return k.lexicon.Read(text), false
}

// explanation says which words gave which marks.
func explanation(r listing.Reading) []string {
	var lines []string
	for _, e := range r.Evidence {
		line := fmt.Sprintf("%q", tabular.Sanitise(e.Words))
		var marks []string
		for _, m := range e.Marks {
			marks = append(marks, m.Zone.String()+" "+m.String())
		}
		if len(marks) > 0 {
			line += " gives " + strings.Join(marks, ", ")
		}
		if e.Note != "" {
			line += " (" + e.Note + ")"
		}
		lines = append(lines, line)
	}
	return lines
}

// Tally says how many lots were coded, and which words were not understood, the
// most frequent first.
func (k *Coder) Tally() []string {
	lots := func(n int, rest string) string { return fmt.Sprintf("%s %s", tabular.Count(n, "lot"), rest) }
	parts := []string{lots(k.Coded, "coded")}
	for _, p := range []struct {
		n    int
		text string
	}{{k.Kept, "had a code"}, {k.Uncoded, "left without a code: no words of damage"}, {k.Blank,
		"left without a code: no description"}} {
		if p.n > 0 {
			parts = append(parts, lots(p.n, p.text))
		}
	}
	for _, column := range slices.Sorted(maps.Keys(k.filled)) {
		parts = append(parts, fmt.Sprintf("%s filled in %d", column, k.filled[column]))
	}
	said := []string{strings.Join(parts, "; ")}
	if len(k.unknown) == 0 {
		return said
	}
	seen := slices.SortedFunc(maps.Keys(k.unknown), func(a, b string) int {
		return cmp.Or(k.unknown[b]-k.unknown[a], strings.Compare(a, b))
	})
	const few = 40
	more := len(seen) - few + k.more
	var list []string
	for _, w := range seen[:min(few, len(seen))] {
		if n := k.unknown[w]; n > 1 {
			w = fmt.Sprintf("%s (%d)", w, n)
		}
		list = append(list, w)
	}
	line := tabular.Count(len(seen)+k.more, "word") + " not understood: " + strings.Join(list, ", ")
	if more > 0 {
		line += fmt.Sprintf(" and %d more, in the column %s", more, unknownColumn)
	}
	return append(said, line)
}
