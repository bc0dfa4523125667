package report

import "strings"

// cells takes the cells of a flat row one by one.
type cells interface {
	text(string)
	number(float64)
	integer(int)
	nothing(n int)
}

// anyCells are the cells as Records hold them.
type anyCells []any

func (c *anyCells) text(s string)    { *c = append(*c, s) }
func (c *anyCells) number(x float64) { *c = append(*c, x) }
func (c *anyCells) integer(n int)    { *c = append(*c, n) }
func (c *anyCells) nothing(n int)    { *c = append(*c, make([]any, n)...) }

// flatten hands over the flat row of a result, a cell for each of screenFields.
func flatten(l *lotJSON, to cells) {
	integerOr(to, l.Rank)
	for _, s := range []string{l.Lot, l.Status, l.Verdict, l.Make, l.Model} {
		to.text(s)
	}
	if l.Year != 0 {
		to.integer(l.Year)
	} else {
		to.nothing(1)
	}
	to.text(l.Segment)
	to.text(l.Category)
	to.text(l.Damage)
	numberOr(to, l.Value)
	numberOr(to, l.Guide)
	if p := l.Repair; p != nil {
		numbers(to, p.Mean, p.SD, p.P10, p.P50, p.P80, p.P90, p.P95, p.CILow, p.CIHigh)
		for _, s := range []*spreadJSON{l.Hours, l.Days, l.Resale} {
			numbers(to, s.Mean, s.P10, s.P50, s.P90)
		}
	} else {
		to.nothing(9 + 3*4)
	}
	numberOr(to, l.Outlay)
	if m := l.Margin; m != nil {
		numbers(to, m.Mean, m.SD, m.P10, m.P50, m.P90, m.LossChance, m.Shortfall)
	} else {
		to.nothing(7)
	}
	numberOr(to, l.HighestBid)
	if l.BidLimit != nil {
		to.text(*l.BidLimit)
	} else {
		to.nothing(1)
	}
	if m := l.Margin; m != nil {
		numbers(to, m.LossFinished, m.LossStopping, m.StopChance)
	} else {
		to.nothing(3)
	}
	for _, x := range []*float64{l.OtherVAT, l.Return, l.BayDays, l.BayDay, l.Hour} {
		numberOr(to, x)
	}
	texts := make([]string, len(l.Warnings))
	for i, w := range l.Warnings {
		texts[i] = w.Text
	}
	to.text(l.Reason)
	to.text(strings.Join(texts, "; "))
	to.text(l.Note)
	to.text(l.Site)
	to.text(l.SaleDate)
}

func numbers(to cells, all ...float64) {
	for _, x := range all {
		to.number(x)
	}
}

func numberOr(to cells, x *float64) {
	if x == nil {
		to.nothing(1)
		return
	}
	to.number(*x)
}

func integerOr(to cells, n *int) {
	if n == nil {
		to.nothing(1)
		return
	}
	to.integer(*n)
}
