package report

import (
	"slices"
	"strings"
)

// over writes the texts of Above and Under into a table's lines, as the terminal shows them.
func (t *Table) over(lines []string, widths []int, total int) []string {
	lines = slices.DeleteFunc(lines, func(line string) bool { return line == "" }) // after the last line end
	if len(t.Under) == 0 {
		return lines
	}
	at := gap * t.From
	for _, w := range widths[:t.From] {
		at += w
	}
	put := func(line int, text string) {
		left := strings.TrimRight(lines[line], " \n")
		if room := at - narrow.StringWidth(left); room >= 0 {
			lines[line] = left + strings.Repeat(" ", room) + shorten(text, max(6, total-at)) + "\n"
		}
	}
	put(0, t.Above)
	line := height(t.heads()) // the rule under the heads
	for i, row := range t.Rows {
		if line += height(row); i < len(t.Under) && line < len(lines) {
			put(line, t.Under[i])
		}
	}
	return lines
}

func (t *Table) heads() []string {
	out := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		out[i] = c.Head
	}
	return out
}

// height is how many lines a row takes.
func height(cells []string) int {
	n := 1
	for _, c := range cells {
		n = max(n, strings.Count(c, "\n")+1)
	}
	return n
}

// beside is the table with the texts of Under in a column of their own, for forms that have
// no room under a cell.
func (t *Table) beside() *Table {
	if len(t.Under) == 0 {
		return t
	}
	out := &Table{Columns: append(slices.Clone(t.Columns), left("why"))}
	for i, row := range t.Rows {
		out.Add(append(slices.Clone(row), t.Under[i])...)
	}
	return out
}
