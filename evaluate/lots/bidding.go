package lots

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// bidding reads when a lot closes, where bidding opens, what the hammer price may
// come to, and when to pay.
func bidding(lot *evaluate.Lot, v *lotRow, bad func(string, error) bool) {
	lot.PayBy = v.PayBy.Text()
	if v.Closes.Given() {
		at, timeOnly, err := closing(v.Closes.Text())
		if !bad("closes", err) {
			lot.Closes = evaluate.Closing{At: at, TimeOnly: timeOnly, Given: true}
		}
	}
	price := func(column string, c tabular.Cell) (p money.Pence) {
		if c.Given() {
			var err error
			if p, err = Price(c.Text()); err != nil {
				bad(column, fmt.Errorf("%w, or leave it blank", err))
			}
		}
		return p
	}
	lot.Opening = price("opening", v.Opening)
	lot.GuideLow, lot.GuideHigh = price("guide low", v.GuideLow), price("guide high", v.GuideHigh)
	if column, err := guideRange(lot); err != nil {
		bad(column, err)
	}
}

// guideRange says which column is at fault where guide low, guide and guide high do not
// rise, or only some of them are given.
func guideRange(lot *evaluate.Lot) (column string, err error) {
	low, mid, high := lot.GuideLow, lot.Guide, lot.GuideHigh
	switch {
	case low == 0 && high == 0:
		return "", nil
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

// closing reads 14:05, 2026-03-04 14:05 or 2026-03-04T14:05, seconds or not.
func closing(text string) (at time.Time, timeOnly bool, err error) {
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if at, err = time.Parse(layout, text); err == nil {
			return at, false, nil
		}
	}
	for _, layout := range []string{"15:04", "15:04:05"} {
		if at, err = time.Parse(layout, text); err == nil {
			return at.AddDate(1, 0, 0), true, nil
		}
	}
	return time.Time{}, false, fmt.Errorf("%q is not a time; write 14:05 or 2026-03-04 14:05", text)
}
