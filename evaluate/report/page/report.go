package page

import (
	"html/template"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/report"
)

// reportView is a page of words, pictures and tables in order.
type reportView struct {
	frame
	Parts     []*partView
	Legend    []string
	Regulated []string
}

// partView is what is said of one thing: a probed lot, a build.
type partView struct {
	ID, Heading string
	Words       []wordsView
	Inspect     *inspectView
	Facts       []fact
	Blocks      []blockView
}

// wordsView is a paragraph, with a list below it.
type wordsView struct {
	Text  string
	Items []string
}

// blockView is a picture with its table.
type blockView struct {
	Heading, Hint string
	Picture       template.HTML
	Table         *grid
	List          []string
	// Folded tables open at a touch: the picture says the same.
	Folded bool
}

// grid is a table that becomes a list of cards where the page is narrow.
type grid struct {
	Heads []string
	Rows  []gridRow
}

type gridRow struct {
	Head  gridCell
	Cells []gridCell
}

// gridCell is a text, with a smaller one below; Num is its number as the JSON has it.
type gridCell struct{ Text, More, Num string }

func (g *grid) add(head gridCell, cells ...gridCell) { g.Rows = append(g.Rows, gridRow{head, cells}) }

// drawn is the block with its picture.
func (b *blockView) drawn(p interface {
	SVG() (template.HTML, error)
}) (*blockView, error) {
	var err error
	b.Picture, err = p.SVG()
	return b, err
}

// chanceCell, countCell and wholeCell are cells of a share, a count and a number to the nearest one.
func chanceCell(x float64) gridCell { return gridCell{percent(x), "", share(x)} }
func countCell(n int) gridCell      { return gridCell{strconv.Itoa(n), "", strconv.Itoa(n)} }
func wholeCell(x float64) gridCell  { return gridCell{whole(x), "", number(x)} }

// amount, penceCell, penniesCell and stopCell are cells of an amount: to the nearest ten, with its pence, and as a
// price to stop at.
func (f figures) amount(x float64) gridCell    { return gridCell{f.about(x), "", number(x)} }
func (f figures) penceCell(x float64) gridCell { return gridCell{f.pence(x), "", number(x)} }
func (f figures) penniesCell(p money.Pence) gridCell {
	return gridCell{f.pennies(p), "", number(p.Pounds())}
}
func (f figures) stopCell(p money.Pence) gridCell {
	return gridCell{stopAt(p, f), "", number(p.Pounds())}
}

// Head names the column of cell i.
func (g *grid) Head(i int) string { return g.Heads[i+1] }

// HeadClass says how the head of column i stands: over words or over numbers.
func (g *grid) HeadClass(i int) string {
	for _, r := range g.Rows {
		if i > 0 && r.Cells[i-1].Num != "" {
			return ""
		}
	}
	return "t"
}

// Class says how the cell stands: words to the left, numbers to the right.
func (c gridCell) Class() string {
	switch {
	case c.Num != "" || c.Text == "":
		return ""
	case utf8.RuneCountInString(c.Text) > 20:
		return "t long"
	}
	return "t"
}

// minus finds hyphens that are signs, which a line must not break after.
var minus = regexp.MustCompile(`(^|[\s(])-(\d)`)

// paragraphs groups lines: those that are indented are a list below the one before.
func paragraphs(lines []string) []wordsView {
	var out []wordsView
	for _, line := range lines {
		text := minus.ReplaceAllString(report.Clean(strings.TrimSpace(line)), "$1−$2")
		if strings.HasPrefix(line, "  ") && len(out) > 0 {
			out[len(out)-1].Items = append(out[len(out)-1].Items, text)
			continue
		}
		out = append(out, wordsView{Text: text})
	}
	return out
}
