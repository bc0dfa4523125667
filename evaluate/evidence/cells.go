package evidence

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// amount reads pounds above 0; 0 where the cell is blank or says that there is no price. An amount
// with VAT on top is taken note of.
func (r *reader) amount(c tabular.Cell, read func(string) (typed.Amount, error)) (float64, error) {
	if !c.Given() {
		return 0, nil
	}
	a, err := read(c.Text())
	if err != nil && wholePounds(c.Text()) {
		// Past lots go for a few pounds now and then.
		return pounds(c)
	}
	if err != nil || a.None {
		return 0, err
	}
	r.plus = r.plus || a.PlusVAT
	return a.Pence.Pounds(), nil
}

// pounds reads an amount that may be below 0; a blank cell is an error.
func pounds(c tabular.Cell) (float64, error) {
	if !c.Given() {
		return 0, errors.New("is blank; write pounds")
	}
	p, err := money.Parse(c.Text())
	return p.Pounds(), err
}

// wholePounds reports whether the text is nothing but digits, and not naught.
func wholePounds(text string) bool {
	return strings.Trim(text, "0123456789") == "" && strings.Trim(text, "0") != ""
}

// year reads a car's year, as a person writes it.
func year(c tabular.Cell) (int, error) {
	if !c.Given() {
		return 0, errors.New("is blank; write a year, such as 2019")
	}
	return typed.ParseYear(c.Text(), farAhead)
}

// farAhead bounds the years of cars: the day of the reckoning does not, which the rows themselves tell.
var farAhead = time.Date(2099, 1, 1, 0, 0, 0, 0, time.UTC)

// miles reads an odometer, which is not known where the cell is blank or says so.
func (r *reader) miles(c tabular.Cell) (prices.Optional, error) {
	if !c.Given() {
		return prices.Optional{}, nil
	}
	d, err := r.cells.Miles(c.Text(), r.kilometres)
	if err != nil || d.None {
		return prices.Optional{}, err
	}
	return prices.Some(float64(d.Miles)), nil
}

// day reads a day; zero where the cell is blank.
func (r *reader) day(c tabular.Cell) (time.Time, error) {
	if !c.Given() {
		return time.Time{}, nil
	}
	if t, err := c.Date(); err == nil { // most are
		return t, nil
	}
	d, err := typed.ParseDay(c.Text(), r.order)
	if err != nil {
		if _, open := typed.ShowsOrder(c.Text()); open && r.order == typed.Unknown {
			day, _ := typed.ParseDay(c.Text(), typed.DayFirst)
			month, _ := typed.ParseDay(c.Text(), typed.MonthFirst)
			return time.Time{}, fmt.Errorf("%q could be %s or %s; write %s or %s", c.Text(), day.Time.Format("2 January 2006"),
				month.Time.Format("2 January 2006"), day.Time.Format(time.DateOnly), month.Time.Format(time.DateOnly))
		}
		return time.Time{}, err
	}
	return d.Time, nil
}

// word returns what people's words in a column mean, by words.csv.
func (r *reader) word(column string, c tabular.Cell) (string, bool) {
	meant, ok := words[column][r.cells.Key(c.Text())]
	return meant, ok
}

// answer reads yes or no; unknown where the cell is blank or says so.
func (r *reader) answer(column string, c tabular.Cell) (prices.Answer, error) {
	if !c.Given() {
		return prices.Unknown, nil
	}
	word, ok := r.cells.Choice(column, c.Text())
	if !ok {
		word, ok = r.word(column, c)
	}
	if !ok {
		return prices.Unknown, fmt.Errorf("%q is not an answer; write yes, no or unknown", c.Text())
	}
	return map[string]prices.Answer{"yes": prices.Yes, "no": prices.No}[word], nil
}

// vat reads whether VAT comes on top, as the cell says, else as an amount of the row does.
func (r *reader) vat(c tabular.Cell) (bool, error) {
	if !c.Given() {
		return r.plus, nil
	}
	word, ok := r.cells.Choice("vat", c.Text())
	if !ok {
		return false, fmt.Errorf("%q does not say whether VAT is added; write plus or margin", c.Text())
	}
	return word == "plus", nil
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
	if i, ok := r.shop.SegmentCalled(name); ok {
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

func alreadyOn(name string, line int) error {
	return fmt.Errorf("%q is already on line %d; take one away", name, line)
}
