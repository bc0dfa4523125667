package page

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
)

// sheetSize is how many rows of four lines one page of A4 holds.
const sheetSize = 16

// sheetView is one page of the bid sheet.
type sheetView struct {
	Page, Pages int
	Rows        []*sheetRow
}

// sheetRow is one lot on the bid sheet.
type sheetRow struct {
	ID, Number, Car, Category, Stop string
	// More is the site, the day and the odometer; Code the coded damage.
	More, Code string
	// Passes are the prices above which the chance of a loss passes 1 in 10, 1 in 4
	// and 1 in 2.
	Passes []string
	// Pay is what is paid on the day at the stop, with fees and transport, and Total the
	// sum of that down the sheet.
	Pay, NumPay, Total string
	// Looks are what to look at before bidding, each with a box to tick.
	Looks []string
	// Size is how many rows of four lines the lot takes, at least 1.
	Size int

	pay money.Pence
}

const (
	sheetLooks = 3  // things to look at that a row names, unless the list suspects more
	lookLine   = 27 // characters of a line of them in print
	rowLines   = 4  // lines of a row
	headLine   = 20 // characters of a line of the first column in print
	mostSize   = 6  // rows that one lot takes at the most
)

func sheetRowOf(l *lotView, f figures, stops []money.Pence, pay money.Pence, checks []probe.Check) *sheetRow {
	row := &sheetRow{
		Number: l.Number, Car: l.Car, Category: l.Category, Stop: l.Stop,
		More: l.Place, Code: l.result.Lot.Code.String(),
		Pay: f.exact(wholePounds(pay.Pounds())), NumPay: number(pay.Pounds()), pay: pay,
	}
	for _, p := range stops {
		row.Passes = append(row.Passes, passes(p, f, "always"))
	}
	row.Looks, row.Size = lookLines(checks, f)
	row.Size = min(mostSize, max(row.Size, row.headSize()))
	return row
}

// headSize is how many rows the first column takes in print.
func (r *sheetRow) headSize() int {
	const others = 3 // lines: two of the car, one of site, day and odometer
	lines := others + max(1, (utf8.RuneCountInString(r.Code)+headLine-1)/headLine)
	return (lines + rowLines - 1) / rowLines
}

// lookLines writes what to look at: every mark that the list suspects, and others up to
// three in all. Where they take more than a row of four lines, texts are shortened; none
// is left out.
func lookLines(checks []probe.Check, f figures) (lines []string, size int) {
	named := 0
	for named < len(checks) && (checks[named].Own || named < sheetLooks) {
		named++
	}
	for _, longest := range []int{2 * lookLine, lookLine} {
		lines = lines[:0]
		total := 0
		for _, c := range checks[:named] {
			line := lookLineOf(&c, f, longest)
			lines = append(lines, line)
			total += (utf8.RuneCountInString(line) + lookLine - 1) / lookLine
		}
		if size = max(1, (total+rowLines-1)/rowLines); size == 1 {
			break
		}
	}
	return lines, min(size, mostSize)
}

// lookLineOf names one thing to look at, with the cost of its own job: "nose m1 60%:
// cooling pack, £630". What it is is cut to keep to the length.
func lookLineOf(c *probe.Check, f figures, longest int) string {
	what, cost := c.Item.String()+" "+percent(c.Chance), ", "+f.about(c.OwnCost)
	text := briefly(c.Class.Describe(c.Grade))
	room := longest - utf8.RuneCountInString(what+": "+cost)
	if utf8.RuneCountInString(text) > room {
		if text = cutWords(text, room); text == "" {
			return what + cost
		}
	}
	return what + ": " + text + cost
}

// cutWords keeps so many words of a text as fit the room with the sign that it is cut; it
// never ends in a small word, such as or. It is blank where nothing fits.
func cutWords(text string, room int) string {
	words := strings.Fields(text)
	for n := len(words) - 1; n > 0; n-- {
		cut := strings.Join(words[:n], " ") + "\u2026"
		if utf8.RuneCountInString(cut) <= room && utf8.RuneCountInString(words[n-1]) > 3 {
			return cut
		}
	}
	return ""
}

// briefly is the first thing that a description names: of "ancillaries: cooling pack,
// airbox, hoses" the cooling pack.
func briefly(text string) string {
	if _, after, found := strings.Cut(text, ": "); found {
		text = after
	}
	first, _, _ := strings.Cut(text, ", ")
	return strings.TrimPrefix(first, "one ")
}

// sheets lays out the bid sheet: every lot that is worth a bid, in the order of
// the list, as the sale calls them.
func (s *Sale) sheets(v *saleView, lots []*lotView, f figures) {
	lots = slices.DeleteFunc(slices.Clone(lots), func(l *lotView) bool { return l.result.HighestBid == 0 })
	slices.SortFunc(lots, func(a, b *lotView) int { return cmp.Compare(a.order, b.order) })
	v.SheetLots, v.Prefix = len(lots), f.prefix()
	room := 0
	var total money.Pence
	for _, l := range lots {
		row := l.sheet
		if room < row.Size {
			v.Sheets = append(v.Sheets, sheetView{Page: len(v.Sheets) + 1})
			room = sheetSize
		}
		room -= row.Size
		total += row.pay
		row.ID, row.Total = l.ID, f.exact(wholePounds(total.Pounds()))
		sheet := &v.Sheets[len(v.Sheets)-1]
		sheet.Rows = append(sheet.Rows, row)
	}
	for i := range v.Sheets {
		v.Sheets[i].Pages = len(v.Sheets)
	}
}

// prefix is what stands before an amount of the currency.
func (f figures) prefix() string { return strings.TrimSuffix(f.format.Value(0), "0") }

// passes writes the price above which a chance of a loss is passed; where the lowest bid
// passes it, the words given.
func passes(p money.Pence, f figures, always string) string {
	if p == 0 {
		return always
	}
	return f.exact(p)
}

// costWords says what an item's own job costs, and what comes with it.
func costWords(c *probe.Check, currency string) string {
	return strings.ReplaceAll(report.CostWords(c.OwnCost, c.Rest(), currency), "The job costs", "the job costs")
}

// SheetKey names in the browser what is ticked on the sheets.
func (v *saleView) SheetKey() string {
	parts := []string{v.Title}
	for _, page := range v.Sheets {
		for _, row := range page.Rows {
			parts = append(parts, row.ID, row.Number, row.Car, row.More, strings.Join(row.Looks, "\n"))
		}
	}
	return keyOf(parts...)
}
