package sale

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// Results are the lots that have closed, as a file says.
type Results struct {
	Sold []plan.Sold
	// Problems are rows that cannot be read: money that is spent may be in them, so
	// nothing should be planned on what is left.
	Problems []tabular.Problem
	Notices  []string

	file  string
	lines map[int]int // of each lot in Sold
}

// soldRow is one row of a results file.
type soldRow struct {
	Lot      tabular.Cell `csv:"lot"`
	Hammer   tabular.Cell `csv:"hammer"`
	Won      tabular.Cell `csv:"won"`
	Site     tabular.Cell `csv:"site,omitempty"`
	SaleDate tabular.Cell `csv:"sale_date,omitempty"`
}

// ReadSold reads the results of a sale: lot, hammer (the price before fees, blank or a word such as unsold where
// there is none or nobody heard it) and won (yes or no); site and sale_date where lot numbers are not unique. Columns
// go by what people call them.
func (s *Sale) ReadSold(source tabular.Source) (*Results, error) {
	t, err := openSold(source)
	if err != nil {
		return nil, err
	}
	r := &Results{file: t.File(), lines: map[int]int{}}
	if err := tabular.Rows(t, &r.Problems, func(v *soldRow, k *tabular.Check) { r.row(s, v, k) }); err != nil {
		return nil, err
	}
	r.Notices = t.Notices()
	return r, nil
}

// openSold finds the columns of a results file.
func openSold(source tabular.Source) (*tabular.Table, error) {
	var columns []layout.Column
	var wanted tabular.Options
	for _, c := range tabular.ColumnsOf[soldRow]() {
		columns = append(columns, layout.Column{Column: c, Called: slices.Concat(lots.Called(c.Name),
			evidence.Called("results", c.Name))})
		c.Required = false // asked for all at once, below
		wanted.Columns = append(wanted.Columns, c)
	}
	found, source, err := layout.From(source, 0, layout.Options{Columns: columns, Key: "lot"})
	if err != nil {
		return nil, err
	}
	wanted.At = found.At()
	t, err := tabular.Open(source, wanted)
	if err != nil {
		return nil, err
	}
	var missing []string
	for _, c := range columns {
		if c.Required && !t.Has(c.Name) {
			missing = append(missing, c.Name)
		}
	}
	if len(missing) > 0 {
		return nil, tabular.Problems{{File: t.File(), Sheet: t.Sheet(), Line: t.HeaderLine(), Text: t.HeaderRaw(),
			Message: fmt.Sprintf("no column for %s; it takes lot, hammer (the price before fees) and won (yes where you bought "+
				"it, else no)", strings.Join(missing, ", "))}}
	}
	return t, nil
}

func (r *Results) row(s *Sale, v *soldRow, k *tabular.Check) {
	if k.Name("lot", v.Lot, "write the lot's number"); k.Failed {
		return
	}
	i, err := s.find(v.Lot.Text(), v.Site.Text(), v.SaleDate.Text())
	k.Bad("lot", err)
	if line, twice := r.lines[i]; err == nil && twice {
		k.Bad("lot", fmt.Errorf("%s is already on line %d; keep one", v.Lot.Text(), line))
	}
	x := plan.Sold{Lot: i}
	if word := evidence.Meant("won", v.Won.Text()); word == "yes" || word == "no" {
		x.Won = word == "yes"
	} else if v.Won.Given() {
		x.Won = k.YesNo("won", v.Won)
	}
	unsold := slices.Contains([]string{"unsold", "withdrawn"}, evidence.Meant("result", v.Hammer.Text()))
	switch {
	case unsold && !x.Won: // nobody has it
	case v.Hammer.Given():
		price, err := lots.Price(v.Hammer.Text())
		k.Bad("hammer", err)
		x.Hammer, x.Heard = price.Pounds(), err == nil
	case x.Won:
		k.Bad("hammer", errors.New("blank, but won is yes; write what you paid before fees"))
	}
	if !k.Failed {
		r.lines[i] = k.Line
		r.Sold = append(r.Sold, x)
	}
}

// Overspent says which lots were bought with more than was left, a line each.
func (r *Results) Overspent(s *Sale, now plan.Standing) []string {
	var out []string
	for _, o := range now.Over {
		name := s.Entries[o.Lot].Plan.Name
		hammer := 0.0
		for _, x := range r.Sold {
			if x.Lot == o.Lot {
				hammer = x.Hammer
			}
		}
		at := fmt.Sprintf("%s:%d: lot %s at %s ", r.file, r.lines[o.Lot], name, money.Whole(hammer))
		if now.Cash != plan.NoLimit && o.Tied > o.Left+1e-9 {
			out = append(
				out,
				at+fmt.Sprintf("ties up %s, and %s was left; from here on no money is left", money.Whole(o.Tied),
					money.Whole(o.Left)),
			)
		}
		if o.NoBay {
			out = append(out, at+"was bought with no bay free; it needs one all the same")
		}
	}
	return out
}
