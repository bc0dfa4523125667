package layout

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"wreckoner/evaluate/tabular"
)

// summed reports whether a row without a key holds nothing but figures, each of them the sum of its column so far, or
// since the last such row. Other rows are added to the sums.
func (a *Arranged) summed(r tabular.Record) bool {
	if a.sums == nil {
		a.sums = map[int][2]float64{}
	}
	if a.alone(r.Cells) {
		texts, at := given(r.Cells)
		equal := true
		for i, t := range texts {
			x, ok := number(t)
			sum := a.sums[at[i]]
			equal = equal && ok && x != 0 && (math.Abs(x-sum[0]) < 0.005 || math.Abs(x-sum[1]) < 0.005)
		}
		if equal {
			a.passed[aTotal]++
			a.note(fmt.Sprintf("line %d is skipped: its figures are the sums of those above", r.Line))
			for column, sum := range a.sums {
				a.sums[column] = [2]float64{sum[0], 0}
			}
			return true
		}
	}
	for i, c := range a.plan.columns {
		if c == nil || !c.Figures || i >= len(r.Cells) {
			continue
		}
		if x, ok := number(r.Cells[i]); ok {
			sum := a.sums[i]
			a.sums[i] = [2]float64{sum[0] + x, sum[1] + x}
		}
	}
	return false
}

// alone reports whether a row has no key and nothing but figures.
func (a *Arranged) alone(cells []string) bool {
	n := 0
	for i, c := range cells {
		if c = strings.TrimSpace(c); c == "" {
			continue
		}
		if i == a.keyAt || !figure(c) {
			return false
		}
		n++
	}
	return n > 0
}

// number reads a plain figure.
func number(text string) (float64, bool) {
	text = strings.TrimLeft(strings.ReplaceAll(strings.TrimSpace(text), ",", ""), "£$€ ")
	if text == "" || text[0] != '-' && (text[0] < '0' || text[0] > '9') {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil
}
