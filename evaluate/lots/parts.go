package lots

import (
	"fmt"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

func fitsParts(_ *lotReader, text string) bool {
	_, err := partsValue(text)
	return err == nil
}

func (r *lotReader) partsValue(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	parts, err := partsValue(c.Text())
	if !x.bad("parts_value", err) {
		x.lot.PartsValue = &parts
	}
}

// partsValue reads what a car brings broken: one amount, or low, mid and high parted by
// blanks.
func partsValue(text string) (stats.Amount, error) {
	const remedy = "write what its parts would fetch, such as 700, or low, mid and high with spaces between, such as " +
		"400 700 1,100"
	words := strings.Fields(text)
	if len(words) != 1 && len(words) != 3 {
		return stats.Amount{}, fmt.Errorf("%q has %d amounts; %s", text, len(words), remedy)
	}
	x := make([]float64, len(words))
	for i, word := range words {
		p, err := money.Parse(word)
		switch {
		case err != nil:
			return stats.Amount{}, fmt.Errorf("%w; %s", err, remedy)
		case p < 0:
			return stats.Amount{}, fmt.Errorf("%q is negative; %s", word, remedy)
		}
		x[i] = p.Pounds()
	}
	if len(x) == 1 {
		return stats.Fixed(x[0]), nil
	}
	a, err := stats.New(x[0], x[1], x[2], stats.Skewed)
	if err != nil {
		err = fmt.Errorf("%w; %s", err, remedy)
	}
	return a, err
}
