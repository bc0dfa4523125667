// Package layout finds where the table stands in a file that people made: the header below its titles, the columns by
// what people call them, the rows between headings, totals and page feet. What other rows decide is decided once for a
// file, by Survey, before any row is worked out, and said.
package layout

import (
	"encoding/csv"
	"regexp"
	"strings"
	"unicode"

	"wreckoner/evaluate/tabular"
)

// A Column is one that the caller wants.
type Column struct {
	tabular.Column
	// Called is what people call it, beside its own name.
	Called []string
	// Fits reports whether a text that is not blank can be this column's. Nil: any text can.
	Fits func(text string) bool
	// Filled says that no row leaves the column blank: one that seems to has lost a cell.
	Filled bool
	// Figures says that a row of totals may have a figure here.
	Figures bool
	// Above says whether a blank cell may mean that the cell above holds for it.
	Above Above
	// Own says that no two rows have the same, so that no ditto mark stands here.
	Own bool
}

// Above says when a blank cell may mean the one above.
type Above uint8

// A blank may never mean it; may where the column has more blanks than cells, as one that names each run once; or may
// wherever no two rows below one another have the same cell.
const (
	Never Above = iota
	Sparse
	Always
)

// fits reports whether a cell can be the column's.
func (c *Column) fits(cell string) bool {
	if strings.TrimSpace(cell) == "" {
		return !c.Filled
	}
	return c.Fits == nil || c.Fits(strings.TrimSpace(cell))
}

// Parse reads a table of columns and of what people call them, "name,called" with | between the names, as the data
// files of packages have it.
func Parse(table string) map[string][]string {
	called := map[string][]string{}
	for line := range strings.Lines(table) {
		name, others, ok := strings.Cut(strings.TrimSpace(line), ",")
		if !ok || name == "column" {
			continue
		}
		called[name] = append(called[name], strings.Split(others, "|")...)
	}
	return called
}

// Words reads a table of what people write for the choices of columns, "column,read,words" with | between the words, as
// the data files of packages have it: what is read, by column and word. It panics where the table is no CSV, as a data
// file is part of the program.
func Words(table string) map[string]map[string]string {
	rows, err := csv.NewReader(strings.NewReader(table)).ReadAll()
	if err != nil {
		panic("words.csv: " + err.Error())
	}
	all := map[string]map[string]string{}
	for _, row := range rows[1:] {
		if all[row[0]] == nil {
			all[row[0]] = map[string]string{}
		}
		for word := range strings.SplitSeq(row[2], "|") {
			all[row[0]][word] = row[1]
		}
	}
	return all
}

// From is FromHeader of a source that is read once, from a line on where it can start there, and the source again,
// beginning with its header.
func From(source tabular.Source, line int, o Options) (*Plan, tabular.Source, error) {
	if from, ok := source.(interface{ From(line int) }); ok && line > 1 {
		from.From(line)
	}
	var merges []tabular.Merge
	if loose, ok := source.(tabular.Loose); ok {
		var err error
		if merges, err = loose.Merged(); err != nil {
			return nil, nil, err
		}
	}
	a := LookAhead(source)
	return FromHeader(a.First().Cells, o, merges), a, nil
}

// ends are words in brackets that tell one header from another: Guide (low), Guide (high).
var ends = regexp.MustCompile(`[(\[](low|high|lower|upper|min|max|from|to)[)\]]`)

// words returns the words of a header in lower case, without what is in brackets and without marks.
func words(header string) []string {
	var b strings.Builder
	depth := 0
	for _, r := range ends.ReplaceAllString(strings.ToLower(header), " $1 ") {
		switch {
		case r == '(' || r == '[':
			depth++
		case r == ')' || r == ']':
			depth--
		case depth > 0, r == '\'', r == '’':
		case r == '#':
			b.WriteString(" no ")
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	if all := strings.Fields(b.String()); len(all) > 0 || !strings.ContainsAny(header, "£€$") {
		return all
	}
	return []string{"money"} // a column headed by the sign alone
}

// key is the form in which headers are compared.
func key(header string) string { return strings.Join(words(header), "") }
