package page

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report"
)

// inspectView is what to look at on one car, and the price to stop at for every pattern of
// answers.
type inspectView struct {
	// ID tells the controls of one car from those of another on the page, Key in the browser.
	ID, Key string
	Items   []inspectItem
	// Stops has, for the script, a price in bid steps for each pattern of answers: "-"
	// where the answers contradict, nothing where it was not worked out. Pays has what has
	// to be paid then, by price.
	Stops, Pays string
	// Step is the bid step in pounds, Prefix what stands before an amount.
	Step, Prefix string
	// Stop and Pay are what holds before anything is ticked.
	Stop, Pay string
	// Lot is what to type for a pattern that was not worked out; Place the site, the day and the
	// odometer.
	Lot, Place string
	// Partly says that not every pattern was worked out.
	Partly bool
}

type inspectItem struct{ Item, Words, More string }

// Patterns that are worked out: of probed lots every one of six items; on a sale's page,
// which has many lots, of five. Where cars are simulated, few are like any one pattern of many.
const (
	probedItems    = 6
	saleItems      = 5
	simulatedItems = 3
)

// inspect works out the answers about some items.
func inspect(
	s *evaluate.Assessment, lot *evaluate.Lot, id string, items []inspectItem, about []damage.Item, f figures,
) (*inspectView, error) {
	if len(about) == 0 {
		return nil, nil
	}
	a, err := probe.WorkOut(s, about, 1<<20)
	if err != nil {
		return nil, err
	}
	step := s.Shop().BidStep
	v := &inspectView{
		ID: id, Items: items[:len(about)], Step: number(step.Pounds()), Prefix: f.prefix(),
		Stop: stopAt(a.Stops[0], f), Lot: report.Clean(lot.Number), Place: placeOf(lot),
	}
	v.Key = keyOf(lot.Number, lot.Car(), v.Place, fmt.Sprint(about))
	if pay, ok := a.Pay[a.Stops[0]]; ok {
		v.Pay = f.exact(wholePounds(pay.Pounds()))
	}
	v.Stops, v.Partly = stopsText(a.Stops, step)
	var pays []string
	for _, stop := range slices.Sorted(maps.Keys(a.Pay)) {
		pays = append(pays, fmt.Sprintf("%d:%.0f", stop/step, a.Pay[stop].Pounds()))
	}
	v.Pays = strings.Join(pays, ",")
	return v, nil
}

// keyOf names in the browser what is ticked on a page; another list or another car has another.
func keyOf(parts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(parts, "\x00")))
	return hex.EncodeToString(sum[:8])
}

// stopsText writes the prices for the script, in bid steps; partly says that some were not
// worked out.
func stopsText(stops []money.Pence, step money.Pence) (text string, partly bool) {
	words := make([]string, len(stops))
	for i, stop := range stops {
		switch stop {
		case probe.NotWorkedOut:
			partly = true
		case probe.Contradicts:
			words[i] = "-"
		default:
			words[i] = strconv.FormatInt(int64(stop/step), 10)
		}
	}
	return strings.Join(words, ","), partly
}

// inspectLot is the inspection of one lot of a sale.
func inspectLot(
	s *evaluate.Assessment, lot *evaluate.Lot, id string, checks []probe.Check, f figures,
) (*inspectView, error) {
	most := saleItems
	if !s.Exact() {
		most = simulatedItems
	}
	var items []inspectItem
	for _, c := range checks {
		items = append(items, inspectItem{c.Item.String(), c.Words(), c.Kind.String() + ", " + percent(c.Chance)})
	}
	return inspect(s, lot, id, items, probe.Items(checks, most), f)
}

// inspectProbed is that of a probed lot.
func inspectProbed(p *probe.Probe, id string, f figures) (*inspectView, error) {
	most := probedItems
	if !p.Assessment.Exact() {
		most = simulatedItems
	}
	var items []inspectItem
	var about []damage.Item
	for _, u := range p.Unknowns[:min(most, len(p.Unknowns))] {
		items = append(items, inspectItem{u.Item.String(), u.Words(), u.Kind.String() + ", " + percent(u.Chance)})
		about = append(about, u.Item)
	}
	return inspect(p.Assessment, p.Lot, id, items, about, f)
}
