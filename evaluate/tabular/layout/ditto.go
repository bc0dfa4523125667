package layout

import "strings"

// dittos are the marks and words by which people say that a cell is as the one above: common practice, no source.
var dittos = map[string]bool{`"`: true, `''`: true, "``": true, "″": true, "〃": true, "”": true, "“": true,
	`""`: true, `-"-`: true, `--"--`: true, "-''-": true, "-”-": true, "do": true, "do.": true, "ditto": true,
	"as above": true, "same as above": true, "dto": true, "dto.": true}

// ditto reports whether a cell says that it is as the one above.
func ditto(cell string) bool {
	if len(cell) == 0 || len(cell) > 15 || cell[0] < 0x80 && strings.IndexByte("\"'`-dDsSaA ", cell[0]) < 0 {
		return false // most cells, at a glance
	}
	return dittos[strings.ReplaceAll(plainCell(cell), `- " -`, `-"-`)]
}

// asAbove writes what the row above has into the cells that are ditto marks, but not of columns that no two rows have
// the same. A mark below a row that could not be read, or below a heading, stays.
func (a *Arranged) asAbove(cells []string) []string {
	copied := false
	for i, c := range a.plan.columns {
		if c == nil || c.Own || i >= len(cells) || !ditto(cells[i]) || i >= len(a.above) ||
			strings.TrimSpace(a.above[i]) == "" {
			continue
		}
		if !copied {
			cells, copied, a.changed = append([]string(nil), cells...), true, true
		}
		cells[i] = a.above[i]
		a.dittos++
	}
	a.above = cells
	return cells
}
