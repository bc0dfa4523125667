package lots

import (
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
	"wreckoner/evaluate/tabular/typed"
)

// A lotColumn is one of a lot list: its name, whether a list must have it, what can stand in it, and how a row's cell
// is read. What people call it is in headers.csv.
type lotColumn struct {
	name string
	// needed columns must be there; or names one that will do instead.
	needed bool
	or     string
	// figures may stand here in a row of totals; above: a blank may mean the cell above.
	figures bool
	above   layout.Above
	// own: no two lots have the same.
	own bool
	// fits reports whether a text can be this column's; nil: any can.
	fits func(r *lotReader, text string) bool
	// read takes the cell of a row into the lot.
	read func(r *lotReader, x *reading, c tabular.Cell)
}

// lotColumns are the columns of a lot list, in the order in which they are shown and kept.
var lotColumns []lotColumn

func init() { // the readers refer to the table
	lotColumns = []lotColumn{
		{name: "lot", needed: true, own: true, fits: fitsLot, read: (*lotReader).number},
		{name: "registration", own: true, fits: fitsPlate,
			read: text(func(l *evaluate.Lot) *string { return &l.Registration })},
		{name: "make", read: text(func(l *evaluate.Lot) *string { return &l.Make })},
		{name: "model", read: text(func(l *evaluate.Lot) *string { return &l.Model })},
		{name: "year", fits: fitsYear, read: (*lotReader).year},
		{name: "odometer", figures: true, fits: fitsDistance, read: (*lotReader).odometer},
		{name: "segment", above: layout.Sparse, fits: fitsSegment, read: (*lotReader).segment},
		{name: "category", needed: true, fits: fitsCategory, read: (*lotReader).category},
		{name: "damage", needed: true, or: "description", fits: fitsCode, read: (*lotReader).damage},
		{name: "description", fits: fitsWords, read: text(func(l *evaluate.Lot) *string { return &l.Description })},
		{name: "value", needed: true, figures: true, fits: fitsAmount, read: (*lotReader).value},
		{name: "guide", figures: true, fits: fitsAmount, read: (*lotReader).guide},
		{name: "site", above: layout.Always, fits: fitsSite, read: (*lotReader).place},
		{name: "distance", figures: true, fits: fitsDistance, read: (*lotReader).distance},
		{name: "vat", fits: fitsChoice("vat"), read: (*lotReader).vat},
		{name: "keys", fits: fitsChoice("keys"), read: (*lotReader).keys},
		{name: "starts", fits: fitsChoice("starts"), read: (*lotReader).starts},
		{name: "note", read: text(func(l *evaluate.Lot) *string { return &l.Note })},
		{name: "sale_date", above: layout.Sparse, fits: fitsDate, read: (*lotReader).saleDate},
		{name: "collect_by", fits: fitsDate, read: (*lotReader).collectBy},
		{name: "collect_days", fits: fitsNumber, read: (*lotReader).collectDays},
		{name: "closes", fits: fitsClosing, read: (*lotReader).closes},
		{name: "opening", fits: fitsAmount,
			read: pounds("opening", func(l *evaluate.Lot) *money.Pence { return &l.Opening })},
		{name: "guide low", fits: fitsAmount, read: pounds("guide low",
			func(l *evaluate.Lot) *money.Pence { return &l.GuideLow })},
		{name: "guide high", fits: fitsAmount, read: pounds("guide high",
			func(l *evaluate.Lot) *money.Pence { return &l.GuideHigh })},
		{name: "pay by", read: text(func(l *evaluate.Lot) *string { return &l.PayBy })},
		{name: "parts_value", fits: fitsParts, read: (*lotReader).partsValue},
		{name: "coded_from", read: (*lotReader).codedFrom},
		{name: "quotes", read: (*lotReader).quotes}, // after damage
	}
}

// text reads a cell as it is.
func text(field func(*evaluate.Lot) *string) func(*lotReader, *reading, tabular.Cell) {
	return func(_ *lotReader, x *reading, c tabular.Cell) { *field(x.lot) = c.Text() }
}

// columns returns the columns for a list, with what can stand in each. Without a shop, as for a copy, kinds of car,
// categories and sites can be any.
func (r *lotReader) columns() []layout.Column {
	all := make([]layout.Column, len(lotColumns))
	for i, c := range lotColumns {
		all[i] = layout.Column{Column: tabular.Column{Name: c.name, Required: c.needed, Or: c.or},
			Called: slices.Concat(calledBy[c.name], oppositeOf[c.name]),
			Filled: c.needed && c.or == "", Figures: c.figures, Above: c.above, Own: c.own}
		if r.copied { // a copy needs what its maker says
			all[i].Required, all[i].Or = slices.Contains(r.needed, c.name), ""
		}
		if c.fits != nil {
			all[i].Fits = func(text string) bool { return c.fits(r, r.answered(c.name, text)) }
		}
	}
	return all
}

func fitsLot(_ *lotReader, text string) bool {
	return len(text) <= 24 && strings.ContainsAny(text, "0123456789") && !strings.ContainsAny(text, ",;\t")
}

func fitsPlate(_ *lotReader, text string) bool {
	letters, digits := false, false
	for _, r := range strings.ToUpper(text) {
		switch {
		case r >= 'A' && r <= 'Z':
			letters = true
		case r >= '0' && r <= '9':
			digits = true
		case r != ' ':
			return false
		}
	}
	return letters && digits && len(text) >= 4 && len(text) <= 9 && !strings.Contains(strings.ToLower(text), "reg") &&
		!strings.Contains(strings.ToLower(text), "plate")
}

func fitsYear(_ *lotReader, text string) bool {
	_, err := typed.ParseYear(text, time.Now())
	return err == nil
}

func fitsDistance(_ *lotReader, text string) bool {
	_, err := typed.ParseDistance(text, false)
	return err == nil
}

func fitsNumber(_ *lotReader, text string) bool {
	_, err := tabular.NewCell(text).Number(0, 1e9)
	return err == nil
}

func fitsSegment(r *lotReader, text string) bool {
	if r.shop == nil {
		return true
	}
	_, ok := r.shop.SegmentCalled(text)
	return ok
}

func fitsCategory(r *lotReader, text string) bool {
	if r.shop == nil {
		return true
	}
	_, err := r.categoryNamed(text)
	return err == nil
}

func fitsCode(_ *lotReader, text string) bool {
	if looksCoded(text) {
		return true
	}
	_, err := damage.Parse(text) // none, for one
	return err == nil
}

func fitsWords(_ *lotReader, text string) bool {
	return !looksCoded(text) || len(strings.Fields(text)) > 8
}

func fitsAmount(r *lotReader, text string) bool {
	_, err := typed.ParseAmount(text, r.sign())
	return err == nil
}

func fitsSite(r *lotReader, text string) bool {
	if r.shop == nil {
		return true
	}
	_, err := r.siteNamed(text)
	return err == nil
}

func fitsChoice(column string) func(*lotReader, string) bool {
	return func(_ *lotReader, text string) bool {
		_, ok := choice(column, text)
		return ok
	}
}

func fitsDate(_ *lotReader, text string) bool {
	if typed.Yearless(text) {
		return true
	}
	if _, err := typed.ParseDay(text, typed.DayFirst); err == nil {
		return true
	}
	_, err := typed.ParseDay(text, typed.MonthFirst)
	return err == nil
}

// sign is the currency's.
func (r *lotReader) sign() string {
	if r.shop == nil {
		return ""
	}
	return typed.Sign(r.shop.Currency)
}
