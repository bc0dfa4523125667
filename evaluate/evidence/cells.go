package evidence

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"time"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// amount reads pounds above 0, as a person writes them; 0 where the cell is blank or says that there is no price. plus
// says that VAT comes on top of it.
func (r *reader) amount(c tabular.Cell) (pounds float64, plus bool, err error) {
	if !c.Given() {
		return 0, false, nil
	}
	a, err := typed.ParseAmount(c.Text(), r.sign)
	if err == nil && !a.None && a.Pence <= 0 {
		err = fmt.Errorf("%q is not above 0; write an amount such as 1200 or 1,200.00", c.Text())
	}
	return a.Pence.Pounds(), a.PlusVAT, err
}

// miles reads an odometer; false where nobody knows.
func miles(c tabular.Cell) (miles int, known bool, err error) {
	if !c.Given() {
		return 0, false, nil
	}
	d, err := typed.ParseDistance(c.Text(), false)
	if err == nil && d.Miles > mostMiles {
		err = fmt.Errorf("%q is more than any car has done; write miles, such as 48210", c.Text())
	}
	return d.Miles, !d.None, err
}

// mostMiles is more than any car has done.
const mostMiles = 1_500_000

// year reads a car's year, as a person writes it.
func year(c tabular.Cell) (int, error) { return typed.ParseYear(c.Text(), farAhead) }

// farAhead bounds the years of cars: the day of the reckoning does not, which the rows themselves tell.
var farAhead = time.Date(2099, 1, 1, 0, 0, 0, 0, time.UTC)

// pounds reads an amount that may be below 0; a blank cell is an error.
func pounds(c tabular.Cell) (float64, error) {
	if !c.Given() {
		return 0, errors.New("is blank; write pounds")
	}
	p, err := money.Parse(c.Text())
	return p.Pounds(), err
}

// slashed is a day written with its parts in another order.
var slashed = regexp.MustCompile(`^(\d{1,2})[/.\- ](\d{1,2})[/.\- ](\d{4})$`)

// day reads a day; zero where the cell is blank. A day that may be two, where the file's other days don't show which
// figure is the month, is a fault that says how to write it.
func (r *reader) day(c tabular.Cell) (time.Time, error) {
	if !c.Given() {
		return time.Time{}, nil
	}
	if t, err := c.Date(); err == nil { // most are
		return t, nil
	}
	d, err := typed.ParseDay(c.Text(), r.order)
	if err == nil && (!d.Open || r.order != typed.Unknown) {
		return d.Time, nil
	}
	if m := slashed.FindStringSubmatch(c.Text()); m != nil {
		for _, order := range [][2]string{{m[1], m[2]}, {m[2], m[1]}} {
			d, _ := strconv.Atoi(order[0]) // two digits by the pattern
			month, _ := strconv.Atoi(order[1])
			text := fmt.Sprintf("%s-%02d-%02d", m[3], month, d)
			if _, bad := time.Parse(time.DateOnly, text); bad == nil {
				return time.Time{}, fmt.Errorf("%q is not a date; write %s", c.Text(), text)
			}
		}
	}
	if err == nil {
		err = fmt.Errorf("%q is not a date; write one such as 2026-03-17", c.Text())
	}
	return time.Time{}, err
}

// answer reads yes or no; unknown where the cell is blank or says so.
func answer(c tabular.Cell) (prices.Answer, error) {
	if !c.Given() {
		return prices.Unknown, nil
	}
	word, err := c.Word("yes", "no", "unknown")
	switch {
	case err != nil:
		return prices.Unknown, err
	case word == "yes":
		return prices.Yes, nil
	case word == "no":
		return prices.No, nil
	}
	return prices.Unknown, nil
}

// plus reads whether VAT comes on top; margin and blank say no.
func plus(c tabular.Cell) (bool, error) {
	if !c.Given() {
		return false, nil
	}
	word, err := c.Word("margin", "plus")
	return word == "plus", err
}

// segment returns the shop's spelling of a segment.
func (r *reader) segment(c tabular.Cell) (string, error) {
	name := c.Text()
	if name == "" {
		name = prices.DefaultSegment
	}
	if i, ok := r.shop.Segment(name); ok {
		return r.shop.Segments[i].Name, nil
	}
	var names []string
	for _, s := range r.shop.Segments {
		names = append(names, s.Name)
	}
	if !c.Given() {
		return "", fmt.Errorf("is blank, and segments.csv has no %q to use instead; write one of its car types", name)
	}
	return "", tabular.Unknown("car type", name, names)
}

// category returns the shop's spelling of a category; a name that the shop does not have
// is returned as it stands.
func (r *reader) category(name string) (string, bool) {
	for _, c := range r.shop.Categories {
		if tabular.NameKey(c.Name) == tabular.NameKey(name) {
			return c.Name, true
		}
	}
	return name, false
}

func (r *reader) categories() []string {
	var names []string
	for _, c := range r.shop.Categories {
		if c.Segment == "" {
			names = append(names, c.Name)
		}
	}
	return names
}

func alreadyOn(name string, line int) error {
	return fmt.Errorf("%q is already on line %d; take one away", name, line)
}
