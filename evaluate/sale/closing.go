package sale

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// closes returns when a lot closes: its time, on the day of the sale where the list has the
// time alone; or of its day only the first moment.
func closes(lot *evaluate.Lot) (at time.Time, dayOnly bool) {
	day, err := time.Parse(time.DateOnly, lot.SaleDate)
	dated := err == nil && lot.SaleDate != ""
	switch c := lot.Closes; {
	case !c.Given && dated:
		return day, true
	case !c.Given:
		return time.Time{}, false
	case c.TimeOnly && dated:
		return day.Add(
			time.Duration(
				c.At.Hour(),
			)*time.Hour + time.Duration(
				c.At.Minute(),
			)*time.Minute + time.Duration(
				c.At.Second(),
			)*time.Second,
		), false
	default:
		return c.At, false
	}
}

// closings puts lots in closing order, and leaves those out whose time is missing while others
// have one.
func (s *Sale) closings(all []*evaluate.Lot) ([]*evaluate.Lot, error) {
	if len(all) == 0 {
		return all, nil
	}
	given, dated := false, false
	for _, lot := range all {
		given = given || lot.Closes.Given
		dated = dated || lot.SaleDate != "" || lot.Closes.Given && !lot.Closes.TimeOnly
		if !slices.Contains(s.Lists, lot.File) {
			s.Lists = append(s.Lists, lot.File)
		}
	}
	if s.Timed = given || dated; !s.Timed {
		s.Notices = append(s.Notices,
			"no column closes: the order of the list is taken as the order in which lots close")
		return all, nil
	}
	if given {
		if err := s.untimed(all); err != nil {
			return nil, err
		}
	} else {
		s.Notices = append(s.Notices,
			"no column closes: of one day the order of the list is taken as the order in which lots close")
	}
	var kept []*evaluate.Lot
	for _, lot := range all {
		if p := missing(lot, given, dated); p != nil {
			s.Problems = append(s.Problems, *p)
			continue
		}
		kept = append(kept, lot)
	}
	slices.SortStableFunc(kept, func(a, b *evaluate.Lot) int {
		x, _ := closes(a)
		y, _ := closes(b)
		return x.Compare(y)
	})
	return kept, nil
}

// untimed refuses several lists of which only some have closing times.
func (s *Sale) untimed(all []*evaluate.Lot) error {
	times := map[string]bool{}
	for _, lot := range all {
		times[lot.File] = times[lot.File] || lot.Closes.Given
	}
	for _, file := range s.Lists {
		if !times[file] {
			return fmt.Errorf(
				"%s has no closing times, and another list has; fill in its column closes, or plan it alone",
				tabular.Sanitise(file),
			)
		}
	}
	return nil
}

// missing says what is missing of a lot's closing; nil for nothing.
func missing(lot *evaluate.Lot, given, dated bool) *tabular.Problem {
	at := func(column, text string, err error) *tabular.Problem {
		return &tabular.Problem{
			File:    lot.File,
			Sheet:   lot.Sheet,
			Line:    lot.Line,
			Column:  column,
			Text:    text,
			Message: err.Error(),
		}
	}
	switch {
	case given && !lot.Closes.Given:
		return at("closes", "", errors.New("blank, while other lots have a time; fill it in, or leave the column out"))
	case !given && lot.SaleDate == "":
		return at("sale_date", "", errors.New("blank, while other lots have a day; fill it in, or leave the column out"))
	case dated && lot.Closes.TimeOnly && lot.SaleDate == "":
		text := lot.Closes.At.Format("15:04")
		return at(
			"closes",
			text,
			fmt.Errorf("%s has no day, while other lots have one; write the day too, as in 2026-03-04 %s", text, text),
		)
	}
	return nil
}
