package evaluate

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
)

// A Quote is what somebody offers for one item of a lot, in pounds; with own hours where
// HasHours.
type Quote struct {
	damage.Item
	Spend    float64
	Hours    float64
	HasHours bool
}

// String writes the quote as ParseQuotes reads it.
func (q Quote) String() string {
	text := q.Item.String() + "=" + strconv.FormatFloat(q.Spend, 'f', -1, 64)
	if q.HasHours {
		text += " " + strconv.FormatFloat(q.Hours, 'f', -1, 64) + "h"
	}
	return text
}

// ParseQuotes reads what was quoted for items of a car, parted by semicolons: zone and mark,
// = and an amount, and own hours or not, as in
//
//	nose c3=620; cabin r2=1,450; roof c2=180 1h
//
// Here a comma belongs to the amount. Only what the code has as seen or suspected can be
// quoted, each item once.
func ParseQuotes(text string, code damage.Code) ([]Quote, error) {
	var out []Quote
	for part := range strings.SplitSeq(text, ";") {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		q, err := parseQuote(part)
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(out, func(o Quote) bool { return o.Item == q.Item }) {
			return nil, fmt.Errorf("%s is quoted twice; keep one", q.Item)
		}
		if err := quotable(q.Item, code); err != nil {
			return nil, err
		}
		out = append(out, q)
	}
	return out, nil
}

const quoteForm = "write zone, mark, = and the amount, such as nose c3=620 or, with own hours, roof c2=180 1h"

func parseQuote(part string) (q Quote, err error) {
	what, price, ok := strings.Cut(part, "=")
	words := strings.Fields(price)
	if !ok || len(words) == 0 {
		return q, fmt.Errorf("%q has no amount; %s", part, quoteForm)
	}
	item, err := damage.Parse(what)
	if err != nil {
		return q, fmt.Errorf("%q: %w; %s", part, err, quoteForm)
	}
	marks := item.Marks()
	if len(marks) != 1 || marks[0].State != damage.Seen {
		return q, fmt.Errorf("%q does not name one item; %s", part, quoteForm)
	}
	q.Item = marks[0].Item
	if words, err = q.hours(part, words); err != nil {
		return q, err
	}
	amount, err := money.Parse(strings.Join(words, " "))
	switch {
	case err != nil:
		return q, fmt.Errorf("%q: %w", part, err)
	case amount < 0:
		return q, fmt.Errorf("%q is below 0; write what is to be paid, such as 620", part)
	}
	q.Spend = amount.Pounds()
	return q, nil
}

// hours takes own hours off the end of the words after =, where they are there: 1h, or 1 h.
func (q *Quote) hours(part string, words []string) ([]string, error) {
	hours, ok := strings.CutSuffix(strings.ToLower(words[len(words)-1]), "h")
	if !ok || len(words) == 1 {
		return words, nil
	}
	if words = words[:len(words)-1]; hours == "" {
		hours, words = words[len(words)-1], words[:len(words)-1]
	}
	var err error
	q.Hours, err = strconv.ParseFloat(hours, 64)
	if err != nil || !(q.Hours >= 0 && q.Hours <= mostHours) || len(words) == 0 {
		return nil, fmt.Errorf("%q: %q is not a number of hours; write 1h or 0.5h, or 0h for what is bought in whole", part,
			hours)
	}
	q.HasHours = true
	return words, nil
}

// mostHours is more than any job of one car takes.
const mostHours = 10_000

// quotable says why an item of a code cannot be quoted.
func quotable(item damage.Item, code damage.Code) error {
	var names []string
	for _, m := range code.Marks() {
		if m.State == damage.Absent {
			continue
		}
		if m.Item == item {
			return nil
		}
		names = append(names, m.Item.String())
	}
	if len(names) == 0 {
		return errors.New("the damage column has nothing that could be quoted; code the damage first, or leave quotes blank")
	}
	return fmt.Errorf("%s is not coded as seen or suspected in the damage column, which has %s; quote one of these, "+
		"or code it", item, strings.Join(names, ", "))
}
