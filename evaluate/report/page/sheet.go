package page

import (
	"cmp"
	"slices"
	"unicode/utf8"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// sheetSize is how many lots one page of A4 holds.
const sheetSize = 20

// sheetView is one page of the bid sheet.
type sheetView struct {
	Page, Pages int
	Rows        []*sheetRow
}

// sheetRow is one lot on the bid sheet.
type sheetRow struct {
	ID, Number, Car, Category, Stop, Look string
	// Passes are the prices above which the chance of a loss passes 1 in 10, 1 in 4
	// and 1 in 2.
	Passes []string
}

// mostLook bounds what a row says of what to look at, in characters: three lines.
const mostLook = 105

func sheetRowOf(l *lotView, f figures, stops []money.Pence, doubts []evaluate.Doubt) *sheetRow {
	row := &sheetRow{Number: l.Number, Car: l.Car, Category: l.Category, Stop: l.Stop}
	for _, p := range stops {
		row.Passes = append(row.Passes, price(p, f))
	}
	for _, d := range doubts {
		text := d.Zone.String() + " " + d.Mark() + " " + d.Class.Describe(d.Grade) + " (" + percent(d.Chance) + ", " + f.about(d.MeanCost) + ")"
		if row.Look != "" {
			text = row.Look + "; " + text
		}
		if row.Look != "" && utf8.RuneCountInString(text) > mostLook {
			break
		}
		row.Look = text
	}
	if row.Look == "" {
		row.Look = "nothing hidden is likely: check that what was coded is all"
	}
	return row
}

// sheets lays out the bid sheet: every lot that is worth a bid, in the order of
// the list, as the sale calls them.
func (s *Sale) sheets(v *saleView, lots []*lotView) {
	lots = slices.DeleteFunc(slices.Clone(lots), func(l *lotView) bool { return l.result.HighestBid == 0 })
	slices.SortFunc(lots, func(a, b *lotView) int { return cmp.Compare(a.order, b.order) })
	v.SheetLots = len(lots)
	pages := (len(lots) + sheetSize - 1) / sheetSize
	for i := range pages {
		sheet := sheetView{Page: i + 1, Pages: pages}
		for _, l := range lots[i*sheetSize : min(len(lots), (i+1)*sheetSize)] {
			l.sheet.ID = l.ID
			sheet.Rows = append(sheet.Rows, l.sheet)
		}
		v.Sheets = append(v.Sheets, sheet)
	}
}
