package lots

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// closes reads when a lot closes. A list may have the day alone there: it is the day of the sale.
func (r *lotReader) closes(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	at, timeOnly, err := r.closing(c.Text())
	if err == nil {
		x.lot.Closes = evaluate.Closing{At: at, TimeOnly: timeOnly, Given: true}
		return
	}
	if _, bad := typed.ParseDay(c.Text(), r.order); bad != nil {
		x.bad("closes", err)
		return
	}
	if x.lot.SaleDate == "" {
		r.saleDate(x, c)
	}
}

func fitsClosing(r *lotReader, text string) bool {
	_, _, err := r.closing(text)
	return err == nil || fitsDate(r, text)
}

// pounds reads a price that may be left out.
func pounds(column string, field func(*evaluate.Lot) *money.Pence) func(*lotReader, *reading, tabular.Cell) {
	return func(r *lotReader, x *reading, c tabular.Cell) {
		if !c.Given() {
			return
		}
		a, err := typed.ParseAmount(c.Text(), r.sign())
		if err == nil && r.form(column).thousands {
			a, err = scaled(c.Text(), a)
		}
		switch {
		case err != nil:
		case a.WithVAT:
			x.bad(column, withVAT(c.Text(), a, r.shop))
			return
		case a.Range():
			err = fmt.Errorf("%q is a range; write one amount, such as %s", c.Text(), a.Pence)
		case !a.None && a.Pence <= 0:
			err = fmt.Errorf("%q is not above 0; write an amount such as 1200 or 1,200.00", c.Text())
		}
		if err != nil {
			x.bad(column, fmt.Errorf("%w, or leave it blank", err))
			return
		}
		*field(x.lot) = a.Pence
		x.plus = x.plus || a.PlusVAT
	}
}

// guides settles the guide price and its range: of guide low and guide high without a guide it is the middle.
func (r *lotReader) guides(x *reading) {
	for _, column := range []string{"guide", "guide low", "guide high"} {
		if slices.ContainsFunc(x.problems, func(p tabular.Problem) bool { return p.Column == r.table.Header(column) }) {
			return // what is wrong with it is said already
		}
	}
	if low, high := x.lot.GuideLow, x.lot.GuideHigh; x.lot.Guide == 0 && low > 0 && high >= low {
		x.lot.Guide = money.Divide(int64(low)+int64(high), 2)
		r.said.add("a guide price that is a range is read as its middle", x.lot)
	}
	if column, err := guideRange(x.lot); err != nil {
		x.bad(column, err)
	}
	if x.lot.Value > 0 && x.lot.Guide > x.lot.Value {
		r.said.add("the guide price is above the value: are they in the right columns?", x.lot)
	}
}

// guideRange says which column is at fault where guide low, guide and guide high do not
// rise, or only some of them are given.
func guideRange(lot *evaluate.Lot) (column string, err error) {
	low, mid, high := lot.GuideLow, lot.Guide, lot.GuideHigh
	switch {
	case low == 0 && high == 0:
		return "", nil
	case mid == 0 && low > high && high > 0:
		return "guide low", fmt.Errorf("%s is above the guide high of %s; write them the other way round, if so they were "+
			"meant", whole(low), whole(high))
	case mid == 0:
		return "guide", errors.New("is blank, while guide low or guide high is given; write the guide between them")
	case low == 0:
		return "guide low", errors.New("is blank, while guide high is given; fill it in, or leave both blank")
	case high == 0:
		return "guide high", errors.New("is blank, while guide low is given; fill it in, or leave both blank")
	case low == mid && mid == high:
		return "", nil // a certain price
	case low >= mid:
		return "guide low", fmt.Errorf(
			"%s is %s the guide of %s; low, guide and high must rise",
			whole(low),
			aboveOrAt(low > mid),
			whole(mid),
		)
	case high <= mid:
		return "guide high", fmt.Errorf(
			"%s is %s the guide of %s; low, guide and high must rise",
			whole(high),
			belowOrAt(high < mid),
			whole(mid),
		)
	}
	return "", nil
}

// whole writes an amount without its pence where there are none.
func whole(p money.Pence) string { return strings.TrimSuffix(p.String(), ".00") }

func aboveOrAt(above bool) string {
	if above {
		return "above"
	}
	return "the same as"
}

func belowOrAt(below bool) string {
	if below {
		return "below"
	}
	return "the same as"
}

// closing reads when a lot closes: a time, or a day and a time.
func (r *lotReader) closing(text string) (at time.Time, timeOnly bool, err error) {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if at, err = time.Parse(layout, text); err == nil {
			return at, false, nil
		}
	}
	since, ok, err := clockTime(text)
	if ok {
		return time.Time{}.Add(since), true, nil
	}
	if err != nil {
		return time.Time{}, false, err
	}
	if m := dayBeforeTime.FindStringSubmatch(strings.TrimSpace(text)); m != nil {
		since, ok, err := clockTime(m[2])
		if err != nil {
			return time.Time{}, false, err
		}
		d, bad := typed.ParseDayNear(m[1], r.order, r.today())
		if ok && bad != nil {
			return time.Time{}, false, bad
		}
		if ok {
			return d.Time.Add(since), false, nil
		}
	}
	return time.Time{}, false, fmt.Errorf("%q is not a time; write 14:05 or 2026-03-04 14:05", text)
}
