package build

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// workshopOwn are the meanings of words that are most often costs of the workshop, not of a car.
var workshopOwn = []string{"rent", Wages}

// item returns the shop's own name for a fixed item or an extra. known is false where the shop has none, or no frozen
// estimate was named that says which items it has; the name is then the usual one.
func (r *ledgerReader) item(usual string) (name string, known bool) {
	for _, fixed := range r.how.Fixed {
		key := wordKey(fixed)
		alike := key == usual
		for _, kind := range []string{"same", "near", "within"} {
			alike = alike || slices.Contains(ledgerWords().means[kind][key], usual)
		}
		if alike {
			return fixed, true
		}
	}
	return usual, false
}

// usual reports whether words are the usual name of a fixed item.
func usual(what string) bool {
	key := wordKey(what)
	if slices.Contains(entryWords, key) || slices.Contains(workshopOwn, key) {
		return false
	}
	for _, kind := range []string{"same", "near", "within"} {
		for _, means := range ledgerWords().means[kind] {
			if slices.Contains(means, key) {
				return true
			}
		}
	}
	return false
}

// near returns what words come close to, of the car's own amounts, the fixed items and the workshop's own costs. all
// is false where they come close only to items that the shop does not have.
func (r *ledgerReader) near(what string) (meant []string, all bool) {
	found := ledgerWords().means["near"][wordKey(what)]
	if len(found) == 0 {
		phrases, _ := phrasesIn("within", plainWords(what))
		for _, phrase := range phrases {
			found = append(found, ledgerWords().means["within"][phrase]...)
		}
	}
	for _, means := range found {
		name, known := means, true
		if !slices.Contains(entryWords, means) && !slices.Contains(workshopOwn, means) {
			name, known = r.item(means)
			known = known || len(r.how.Fixed) == 0
		}
		if known && means != "" && !slices.Contains(meant, name) {
			meant = append(meant, name)
		}
	}
	return meant, len(meant) > 0 || len(found) == 0
}

// nearWords asks about words that are close to the car's own amounts, to fixed items or to the workshop's own costs.
func nearWords(what string, meant []string) error {
	first := meant[0]
	if len(meant) == 1 && slices.Contains(workshopOwn, first) {
		return fmt.Errorf("%q is not counted: leave the build blank if it is the workshop's own %s, or write overhead: %s "+
			"if this car is to carry it", what, first, what)
	}
	each := ""
	if len(meant) > 1 {
		each = ", with a row for each"
	}
	return fmt.Errorf("%q is not counted: write %s if that is what it was%s, or overhead: %s if it comes on top; until "+
		"then %s", what, alternatives(meant), each, what, charged(first))
}

// charged says what counts until a row is clear that comes close to an amount of the car or an item.
func charged(meant string) string {
	switch meant {
	case "hammer":
		return "the hammer price in the estimate still counts"
	case "sale":
		return "the car still counts as unsold"
	case "fees":
		return "the fees as expected are still charged"
	case "selling":
		return "the selling costs as expected are still charged"
	case "transport":
		return "the expected transport is still charged"
	}
	return "the estimate's figure for " + meant + " still counts"
}

// alternatives writes "a", "a or b", "a, b or c".
func alternatives(words []string) string {
	n := len(words)
	if n == 1 {
		return words[0]
	}
	return strings.Join(words[:n-1], ", ") + " or " + words[n-1]
}

// slip asks about a short word that may be meant for one of the car's own amounts, and reports whether it did.
func (r *ledgerReader) slip(e *Entry, bad func(string, error) bool) bool {
	words := strings.Fields(e.What)
	if len(words) > 2 {
		return false
	}
	for _, word := range words {
		if near := tabular.Nearest(word, entryWords); near != "" {
			return bad("what", nearWords(e.What, []string{near}))
		}
	}
	return false
}

// mostUnasked is from how much money on, in or out, words that say nothing are asked about even where the zone is
// blank: it could be the car's price or its sale.
const mostUnasked money.Pence = 1000_00

// askLarge asks about a row that counts as overhead only because its zone is blank, and is large.
func (e *Entry) askLarge(bad func(string, error) bool) {
	if e.unsure && (e.Spend >= mostUnasked || -e.Spend >= mostUnasked) {
		bad("what", fmt.Errorf("%q is not counted: %s is much for a cost of no zone; write hammer, fees or sale if it was "+
			"one of them, its zone and class before it if it was work, such as nose c %s, or overhead: %s", e.What, e.Spend,
			e.What, e.What))
	}
}

// listUnsure says in one line which rows count as overhead only because their zone is blank, the largest first.
func (r *ledgerReader) listUnsure() {
	const most = 8
	var unsure []*Entry
	for _, b := range r.out.Builds {
		for i := range b.Entries {
			if e := &b.Entries[i]; e.unsure {
				unsure = append(unsure, e)
			}
		}
	}
	if len(unsure) == 0 {
		return
	}
	slices.SortStableFunc(unsure, func(a, b *Entry) int {
		return cmp.Or(cmp.Compare(max(b.Spend, -b.Spend), max(a.Spend, -a.Spend)), cmp.Compare(a.Line, b.Line))
	})
	var rows []string
	for _, e := range unsure[:min(most, len(unsure))] {
		rows = append(rows, fmt.Sprintf("line %d %q %s", e.Line, e.What, e.Spend))
	}
	more := ""
	if n := len(unsure) - most; n > 0 {
		more = fmt.Sprintf(" and %d smaller", n)
	}
	r.out.Notices = append(r.out.Notices, fmt.Sprintf("%s: count as overhead, as their zone is blank: %s%s; is any of "+
		"them work on the car, its price or its sale?", r.out.File, strings.Join(rows, ", "), more))
}
