package lots

import (
	"fmt"
	"time"
)

// A Day is that of the sale of lots without a date of their own.
type Day struct {
	Date time.Time
	// Today says that nobody named it.
	Today bool
}

// String says which day it is.
func (d Day) String() string {
	if d.Today {
		return d.Date.Format("2 January 2006") + " (today)"
	}
	return d.Date.Format("2 January 2006")
}

// dated says at which day cars have their age, where that was told by none of the lots and
// changes any figure.
func (r *lotReader) dated() []string {
	if !r.undated || !r.shop.AgeMatters() {
		return nil
	}
	return []string{fmt.Sprintf("%s: ages of cars are counted to %s where the lot has no sale_date; use --on DATE for "+
		"another day", r.table.File(), r.how.On)}
}
