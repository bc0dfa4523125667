package lots

import (
	"fmt"

	"wreckoner/damage"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// A Cells reads single cells of other files of a shop as those of its lot lists are read, so that
// what people type in one can be typed in all. Its errors are without file and line.
type Cells struct{ r *lotReader }

// NewCells returns the reader of a shop's cells.
func NewCells(workshop *shop.Shop) Cells { return Cells{newLotReader(workshop, Reading{})} }

// Price reads an amount that is a car's: 34k, £12,300, 2,100 + VAT, POA. A range is an error, and so is
// what was mostly typed in thousands.
func (c Cells) Price(text string) (typed.Amount, error) {
	a, err := c.r.price("", text)
	if err == nil && a.Range() {
		err = fmt.Errorf("%q is a range; write one amount, such as %s", text, a.Pence)
	}
	return a, err
}

// SalePrice reads a price at a sale, which is without VAT: one that has it within is an error.
func (c Cells) SalePrice(text string) (typed.Amount, error) {
	a, err := c.Price(text)
	if err == nil && a.WithVAT {
		err = withVAT(text, a, c.r.shop)
	}
	return a, err
}

// Miles reads an odometer; kilometres says that bare numbers are. None is what says that nobody knows.
func (c Cells) Miles(text string, kilometres bool) (typed.Distance, error) {
	d, err := typed.ParseDistance(text, kilometres)
	if err == nil && d.Bare && d.Miles > 0 && d.Miles < leastMiles {
		err = fmt.Errorf("%q may be in thousands; write %sk or %s miles", text, text, text)
	}
	return d, err
}

// Category reads a category as the shop spells it: Cat N, category S (structural), uncat.
func (c Cells) Category(text string) (string, error) {
	name, err := c.r.categoryNamed(text)
	if err != nil {
		return "", err
	}
	for _, k := range c.r.shop.Categories {
		if tabular.NameKey(k.Name) == tabular.NameKey(name) {
			return k.Name, nil
		}
	}
	return name, nil
}

// Choice reads people's words for a choice of a column: of vat plus or margin, of keys and starts
// yes, no or unknown. ok is false where they mean none.
func (c Cells) Choice(column, text string) (meant string, ok bool) { return choice(column, text) }

// Key is the form in which people's words are compared: lower case, plain quotes, single spaces.
func (c Cells) Key(text string) string { return wordKey(text) }

// Code reads a damage code as people type it.
func (c Cells) Code(text string) (damage.Code, error) { return parseCode(text) }
