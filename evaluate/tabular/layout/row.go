package layout

import (
	"regexp"
	"strconv"
	"strings"

	"wreckoner/evaluate/tabular"
)

// A sort says what a row of a file is.
type sort uint8

const (
	aRow sort = iota
	aHeader
	aTotal
	aFoot
	aHeading
	aText
)

var (
	totalForm = regexp.MustCompile(`^(?:(?:sub|grand|page|overall|sale|day|site|running)[ -]*)?totals?` +
		`(?:[ ,:(].{0,40})?$` +
		`|^sum(?: of .{0,20})?$|^(?:carried|brought) (?:forward|down)$|^[bc]/?(?:fwd|f|d)$|^(?:averages?|mean|median)$`)
	countForm = regexp.MustCompile(`^[0-9]{1,6} (?:lots?|vehicles?|cars?|rows?|entries|items?|jobs?)` +
		`(?: in (?:all|total)| listed)?\.?$`)
	footForm = regexp.MustCompile(`^(?:page|sheet) [0-9]+(?: ?(?:of|/) ?[0-9]+)?\b.{0,40}$` +
		`|^[0-9]+ of [0-9]+$|^- ?[0-9]+ ?-$` +
		`|^continued\b.{0,40}$|^cont'?d\b.{0,40}$|^end of .{0,40}$|^printed\b.{0,60}$|^e ?& ?oe?\b.*$`)
)

// plainCell is a cell in lower case with single spaces.
func plainCell(cell string) string { return strings.ToLower(strings.Join(strings.Fields(cell), " ")) }

// given returns the cells that are not blank, and where the first of them stands.
func given(cells []string) (texts []string, at []int) {
	for i, c := range cells {
		if t := strings.Join(strings.Fields(c), " "); t != "" {
			texts, at = append(texts, t), append(at, i)
		}
	}
	return texts, at
}

// repeats reports whether a row is the header again.
func repeats(cells, headers []string) bool {
	n := 0
	for i, c := range cells {
		name := tabular.Canonical(c)
		if name == "" {
			continue
		}
		if i >= len(headers) || tabular.Canonical(headers[i]) != name {
			return false
		}
		n++
	}
	return n >= 2
}

// figure reports whether a cell is a number or an amount and nothing else.
func figure(text string) bool {
	if text == "" {
		return false
	}
	if c := text[0]; c >= 'A' && c <= 'Z' || c >= 'a' && c <= 'z' {
		return false
	}
	text = strings.TrimLeft(strings.ReplaceAll(strings.TrimSpace(text), " ", ""), "£$€-(")
	text = strings.TrimRight(text, ")%")
	if text == "" {
		return false
	}
	_, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", ""), 64)
	return err == nil
}

// totalStarts are how cells of a row of totals start.
var totalStarts = []string{"total", "sub", "grand", "page", "overall", "sale", "day", "site", "running", "sum",
	"carried", "brought", "c/", "b/", "cf", "bf", "cd", "bd", "average", "mean", "median"}

// mayTotal reports whether a cell could say total: a quick look that spares most rows a slower one.
func mayTotal(cell string) bool {
	if cell[0] >= '0' && cell[0] <= '9' {
		return true
	}
	for _, start := range totalStarts {
		if len(cell) >= len(start) && strings.EqualFold(cell[:len(start)], start) {
			return true
		}
	}
	return false
}

// plainRow reports whether a row is one without a closer look: three cells and more are given, the key's among them,
// and one of the others is neither a figure nor anything that rows of totals hold.
func plainRow(cells []string, keyAt int) bool {
	n, plain := 0, false
	for i, c := range cells {
		if c = strings.TrimSpace(c); c == "" {
			continue
		}
		n++
		plain = plain || i != keyAt && !mayTotal(c) && !figure(c)
	}
	return plain && n > 2
}

// totals reports whether a row says that it is one of totals: its words say so, and all else in it is figures.
func totals(texts []string, at []int, keyAt int) bool {
	said, exact := false, false
	for i, t := range texts {
		low := plainCell(t)
		switch {
		case totalForm.MatchString(low):
			said, exact = true, exact || !strings.ContainsAny(low, ",:(")
		case countForm.MatchString(low):
			said = true
		case figure(t) && at[i] != keyAt:
		case at[i] == keyAt && exactTotal(texts):
		default:
			return false
		}
	}
	return said
}

// exactTotal reports whether one of the cells says total and no more.
func exactTotal(texts []string) bool {
	for _, t := range texts {
		switch plainCell(t) {
		case "total", "totals", "subtotal", "sub total", "sub-total", "grand total":
			return true
		}
	}
	return false
}

// lotLike reports whether a cell that stands alone in the key's column may be a row's key.
func lotLike(text string) bool {
	return len(text) <= 12 && strings.ContainsAny(text, "0123456789") && !strings.Contains(text, " ")
}
