package tabular

import (
	"encoding/xml"
	"fmt"
	"io"
	"strings"
)

// A Loose source can yield every row as it stands, titles and rows of any number of cells included, for a caller
// that finds the header by itself.
type Loose interface {
	Source
	// Loosen is called before the first row is read.
	Loosen()
	// Width says how many headers there are, once they are found.
	Width(headers int)
	// Merged returns the cells that are merged with those below them.
	Merged() ([]Merge, error)
}

// A Merge is a cell that holds for the rows From to To, as the sheet counts them, of a column, counted from 0.
type Merge struct{ Column, From, To int }

// Ragged says that a row has more or fewer cells than there are headers.
func Ragged(cells, headers int) string {
	return fmt.Sprintf("has %s where the header has %d; add or take away a delimiter, or put a cell that holds one in "+
		"quotes",
		Count(cells, "cell"), headers)
}

// Loosen lets rows have any number of cells.
func (s *CSV) Loosen() { s.loose = true }

// Width says how many cells a row should have.
func (s *CSV) Width(headers int) { s.headers = max(1, headers) }

// Merged returns nothing: a CSV has no merged cells.
func (s *CSV) Merged() ([]Merge, error) { return nil, nil }

// mostLooked is how many lines are looked at for the delimiter where a title may stand above the header.
const mostLooked = 30

// commonDelimiter returns the delimiter of which the most lines have as many as most lines have.
func (s *CSV) commonDelimiter() byte {
	best, bestLines := delimiters[2], 0
	for i := range len(delimiters) {
		seen := map[int]int{}
		for n := range mostLooked {
			l, err := s.line(n)
			if err != nil {
				break
			}
			if c := unquoted(l.text, delimiters[i]); c > 0 {
				seen[c]++
			}
		}
		for c, lines := range seen {
			if weight := lines * min(c, 4); weight > bestLines {
				best, bestLines = delimiters[i], weight
			}
		}
	}
	return best
}

// unquoted counts a delimiter outside quotes.
func unquoted(text string, delimiter byte) int {
	n, quoted := 0, false
	for i := range len(text) {
		switch {
		case text[i] == '"':
			quoted = !quoted
		case text[i] == delimiter && !quoted:
			n++
		}
	}
	return n
}

// Loosen lets rows have any number of cells, and passes over no title.
func (s *Workbook) Loosen() { s.loose = true }

// Width is of no interest: a sheet's cells have their places.
func (s *Workbook) Width(int) {}

// mostMerges is how many merged cells of a sheet are read.
const mostMerges = 100_000

// Merged returns the cells that are merged with those below them. They stand behind the rows in the sheet's XML,
// which is read through for them.
func (s *Workbook) Merged() ([]Merge, error) {
	r, err := s.book.open(s.tab.part, mostSheet)
	if err != nil {
		return nil, err
	}
	var all []Merge
	for {
		t, err := r.next()
		if err == io.EOF {
			return all, nil
		}
		if err != nil {
			return nil, err
		}
		e, ok := t.(xml.StartElement)
		if !ok || e.Name.Local != "mergeCell" {
			continue
		}
		from, to, ranged := strings.Cut(attribute(e, "ref"), ":")
		if !ranged {
			continue
		}
		m, err := mergeOf(from, to)
		if err != nil {
			return nil, fmt.Errorf("sheet %s: a merged cell: %w", s.tab.name, err)
		}
		if m.To > m.From && len(all) < mostMerges {
			all = append(all, m)
		}
	}
}

func mergeOf(from, to string) (Merge, error) {
	column, err := columnOf(from)
	if err != nil {
		return Merge{}, err
	}
	first, err := rowOf(from)
	if err != nil {
		return Merge{}, err
	}
	last, err := rowOf(to)
	return Merge{Column: column - 1, From: first, To: last}, err
}

// rowOf returns the row of a reference such as AB12.
func rowOf(reference string) (int, error) {
	var n int
	digits := strings.TrimLeft(strings.ReplaceAll(reference, "$", ""),
		"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz")
	if _, err := fmt.Sscanf(digits, "%d", &n); err != nil || n < 1 || n > 1<<24 {
		return 0, fmt.Errorf("%q is not a cell", reference[:min(len(reference), 20)])
	}
	return n, nil
}

// From says on which line the header stands; what is above it is not read.
func (s *CSV) From(line int) { s.from = line }

// From says in which row the header stands; what is above it is not read.
func (s *Workbook) From(line int) { s.from = line }
