package evaluate

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A ResolvedLot is a lot with all that the shop says of it looked up.
type ResolvedLot struct {
	Lot      *Lot
	Segment  shop.Segment
	Category shop.Category
	Case     costs.Case
	// Value is what bids go up to: the list's value, or what evidence makes of it.
	Value money.Pence
	// Deal is the car as it can be bought.
	Deal     deal.Deal
	Warnings []Warning

	// Age is in whole years at the sale, where Aged.
	Age  int
	Aged bool
	// Multipliers are what the cost table is multiplied by on this car.
	Multipliers shop.Multipliers

	category, segment int
	kind              int                // of car: segment and band of ages
	scales            []float64          // of each row; nil: all 1
	marker            prices.MarkerShare // where there is evidence
	share             stats.Amount       // what the marker takes then
	extras            []applied

	shown     []costs.Shown // by looking at the car
	appraisal *Appraisal    // from before that; nil: as evidence says of the prospect
}

// addTo takes up the damage.
func (p *ResolvedLot) addTo(sum *convolve.Sum) error {
	if len(p.shown) > 0 {
		return sum.AddGiven(p.Case, p.shown)
	}
	return sum.Add(p.Case)
}

// applied is an extra that is charged, surely or where the unknown turns out so.
type applied struct {
	extra int
	sure  bool
	times float64 // by what the amount is multiplied on this car
}

// multipliers are what a pound of the cost table's spend and an hour of its own work
// count in the repair of this car, in pounds.
func (p *ResolvedLot) multipliers() (spend, hours float64) {
	return p.Segment.Spend, p.Deal.Labour * p.Segment.Hours
}

// Resolve looks up what the shop says of a coded lot. It fails where the shop
// has no such category or segment, or no book row for what may be wrong.
func (e *Evaluator) Resolve(lot *Lot) (*ResolvedLot, error) { return e.Recoded(lot, 1, 1) }

// Recoded is Resolve where the chances that a seen mark is a grade more, or less, are
// multiplied; they stay at most 0.95.
func (e *Evaluator) Recoded(lot *Lot, up, down float64) (*ResolvedLot, error) {
	p := &ResolvedLot{Lot: lot}
	var ok bool
	if p.segment, ok = e.shop.Segment(lot.Segment); !ok {
		return nil, fmt.Errorf("lot %s: the workshop has no car type %q", lot.Number, lot.Segment)
	}
	p.Segment = e.shop.Segments[p.segment]
	p.age(e)
	if p.category, ok = e.shop.Category(lot.Category, p.Segment.Name); !ok {
		return nil, fmt.Errorf("lot %s: the workshop has no category %q for the car type %s", lot.Number, lot.Category,
			p.Segment.Name)
	}
	p.Category = e.shop.Categories[p.category]
	if err := p.value(e); err != nil {
		return nil, err
	}
	p.Deal = deal.New(e.shop, e.terms, lot.purchase(e.shop.CollectDays), lot.Guide, p.Value)
	p.Deal.WithParts(lot.PartsValue)
	found := costs.Findings(lot.Code, e.shop.SuspectedChance)
	p.doubtCodes(&e.shop.Settings, found, up, down)
	found = append(found, p.doubts(found, e.shop.UncodedStructure)...)
	var err error
	if p.Case, err = e.shop.Costs.Case(p.Segment.Name, found); err != nil {
		return nil, err
	}
	p.Price(p.Case)
	p.apply(e.shop)
	p.thin(e.shop.Costs)
	return p, nil
}

// chanceOf returns that of the extra for a lot.
func chanceOf(x *shop.Extra, p *ResolvedLot) float64 {
	if x.Column == "" {
		return 1
	}
	cell := ""
	switch x.Column {
	case "category":
		cell = p.Category.Name
	case "segment":
		cell = p.Segment.Name
	case "site":
		cell = p.Lot.Site
	default:
		cell = p.Lot.Cells[x.Column]
	}
	switch cell = strings.TrimSpace(cell); {
	case strings.EqualFold(cell, x.Value):
		return 1
	case cell == "" || strings.EqualFold(cell, "unknown"):
		return x.UnknownChance
	}
	return 0
}

// doubts warns where category and code do not fit each other, and returns the
// structural damage that a category S car must have somewhere.
func (p *ResolvedLot) doubts(found []costs.Finding, uncoded float64) (more []costs.Finding) {
	coded := func(is func(costs.Finding) bool) bool {
		return slices.ContainsFunc(found, func(f costs.Finding) bool { return f.State != damage.Absent && is(f) })
	}
	for _, f := range found {
		if f.State == damage.Suspected {
			item, chance := f.Item.String(), percent(f.Chance)
			p.warn("suspected", item+" "+chance, item+" is suspected, included at a chance of "+chance)
		}
	}
	p.chargedTwice(found)
	structural := coded(func(f costs.Finding) bool { return f.Class == damage.Structural })
	heavy := coded(func(f costs.Finding) bool {
		return f.Class == damage.Structural && f.Grade >= 2 && f.State == damage.Seen
	})
	switch {
	case strings.EqualFold(p.Category.Name, "S") && !structural:
		more = p.uncodedStructure(found, uncoded)
	case strings.EqualFold(p.Category.Name, "N") && heavy:
		p.warn("category", "N with structural damage: ask why",
			"category N means no structural damage, but some is coded: ask why")
	}
	restraint := coded(func(f costs.Finding) bool { return f.Class == damage.Restraint })
	impact := coded(func(f costs.Finding) bool { return f.Zone.Impact() })
	if restraint && !impact {
		p.warn("restraint", "", "airbag damage but no outside damage: ask what fired it")
	}
	return more
}

// chargedTwice warns of zones with damage of a class that is coded for the whole car too.
func (p *ResolvedLot) chargedTwice(found []costs.Finding) {
	whole := [damage.ClassCount]bool{}
	for _, f := range found {
		whole[f.Class] = whole[f.Class] || f.State != damage.Absent && f.Zone == damage.Whole
	}
	for _, f := range found {
		if f.State != damage.Absent && f.Zone != damage.Whole && whole[f.Class] {
			p.warn("whole", f.Class.String()+" of "+f.Zone.String(),
				f.Class.String()+" damage is coded for the whole car and for the "+f.Zone.String()+": it is counted twice")
		}
	}
}

// uncodedStructure warns that a category S car has no structural damage coded, and returns it
// as suspected with the chance uncoded, in [0,1], in the zone hit worst: METHOD.md 4.7.
func (p *ResolvedLot) uncodedStructure(found []costs.Finding, uncoded float64) (more []costs.Finding) {
	text, short := "category S means structural damage, and none is coded", "S without structural damage"
	if worst, ok := worstZone(found); ok && uncoded > 0 {
		item := damage.Item{Spot: damage.Spot{Zone: worst, Class: damage.Structural}, Grade: 2}
		more = append(more, costs.Finding{Item: item, State: damage.Suspected, Chance: uncoded})
		text += "; " + item.String() + " is included at a chance of " + percent(uncoded)
		short += ": " + item.String() + " included at " + percent(uncoded)
	}
	p.warn("category", short, text)
	return more
}

func (p *ResolvedLot) warn(kind, short, text string) {
	p.Warnings = append(p.Warnings, Warning{Kind: kind, Text: text, Short: short})
}

// percent prints a share as a whole percentage: "40%".
func percent(share float64) string { return strconv.FormatFloat(100*share, 'f', 0, 64) + "%" }

// worstZone returns the zone hit worst in which structural damage is not ruled
// out: the highest grade, then the largest sum of grades, then the first. Zones
// that a collision can hit come before the others (METHOD.md 4.7).
func worstZone(found []costs.Finding) (damage.Zone, bool) {
	best, bestZone := 0, damage.Zone(0)
	for z := range damage.Zone(damage.ZoneCount) {
		top, sum, ruledOut := 0, 0, false
		for _, f := range found {
			switch {
			case f.Zone != z:
			case f.State == damage.Absent:
				ruledOut = ruledOut || f.Class == damage.Structural && f.Grade <= 2
			default:
				top, sum = max(top, int(f.Grade)), sum+int(f.Grade)
			}
		}
		if top == 0 || ruledOut {
			continue
		}
		score := 1000*top + sum
		if z.Impact() {
			score += 100000
		}
		if score > best {
			best, bestZone = score, z
		}
	}
	return bestZone, best > 0
}

// ThinBuilds is the experience below which a cost row is called thin.
const ThinBuilds = 3

// thin warns of cost rows with little behind them.
func (p *ResolvedLot) thin(b *costs.Table) {
	var names []string
	for i := range p.Case {
		if c := &p.Case[i]; c.Kind != costs.Hidden && b.Rows()[c.Row].Builds < ThinBuilds {
			names = append(names, c.Item.String())
		}
	}
	if len(names) > 0 {
		all := strings.Join(names, ", ")
		p.warn("thin", all, fmt.Sprintf("cost based on fewer than %d jobs: %s", ThinBuilds, all))
	}
}

func matcher(after []shop.After) func(damage.Item) bool {
	return func(i damage.Item) bool {
		return slices.ContainsFunc(after, func(a shop.After) bool { return a.Matches(i) })
	}
}
