package report

import (
	"fmt"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
)

// ProbeWords says what to do about a probed lot first, then how it stands and what counts, a line each.
func ProbeWords(p *probe.Probe, currency string) []string {
	lines := []string{advice(p, currency)}
	if p.Inspected != nil {
		lines = append(inspectedWords(p, currency), lines...)
	}
	if p.HighestBid == 0 {
		lines = append(lines, "If you can't find out more: don't bid.")
	} else {
		lines = append(lines, fmt.Sprintf("If you can't find out more: stop at %s.", sumText(currency, p.HighestBid)))
	}
	at := "the guide price of " + sumText(currency, p.Price)
	switch {
	case p.Appraisal.At() > 0:
		at = "the price it is expected to go for, " + sumText(currency, p.Price)
	case p.Guide == 0:
		at = "a hammer price of " + sumText(currency, p.Price) + " (there is no guide)"
	}
	m := &p.Margin
	lines = append(lines, fmt.Sprintf(
		"At %s the average margin is %s, and 8 times in 10 it ends between %s and %s; the chance of a loss is %s.",
		at, about(currency, m.Mean), about(currency, m.P10), about(currency, m.P90), Percent(m.LossChance)))
	return append(lines, matters(p, currency)...)
}

// inspectedWords say where to stop with what was found at the car.
func inspectedWords(p *probe.Probe, currency string) []string {
	x := p.Inspected
	var found []string
	for _, i := range x.Found {
		found = append(found, i.String()+" found")
	}
	for _, i := range x.NotThere {
		found = append(found, i.String()+" not there")
	}
	text := "With " + strings.Join(found, ", ") + ": " + stopWords(x.Outcome, currency)
	if x.Pay > 0 {
		text += ", to pay " + withSign(currency, money.Whole(x.Pay.Pounds())) + " with fees and transport"
	}
	return []string{text + ".", fmt.Sprintf("The average margin at %s is then %s, and the chance of a loss %s. "+
		"What follows is as before you looked.", sumText(currency, p.Price), about(currency, x.Margin),
		Percent(x.LossChance))}
}

// mostMatters is how many items a summary names, unless the code suspects more.
const mostMatters = 3

// matters names what the code suspects, and up to three items in all that move the margin
// most.
func matters(p *probe.Probe, currency string) []string {
	var lines []string
	for _, u := range p.Unknowns {
		matters := u.Worth >= 1 || u.VarianceShare >= 0.02
		if u.Own || len(lines) < mostMatters && matters && u.Present != nil && u.Absent != nil {
			lines = append(lines, "  "+itemWords(&u, currency))
		}
	}
	none, triple := p.Odds[0], p.Odds[len(p.Odds)-1]
	switch {
	case len(p.Unknowns) == 0:
		lines = append(lines, "No hidden damage is expected. The only doubt is what the known jobs will cost.")
	case len(lines) == 0:
		lines = append(lines, "No hidden damage makes much difference.")
	default:
		head := "Damage to find out about:"
		if p.Unknowns[0].Own { // these come first
			head = "Damage to find out about, what you suspect yourself first:"
		}
		lines = append([]string{head}, lines...)
	}
	switch {
	case none.Margin < 0:
		lines = append(lines, fmt.Sprintf("Even with no hidden damage at all the average margin would be %s, "+
			"so it is the price that rules it out.", about(currency, none.Margin)))
	case triple.Margin > 0 && len(p.Unknowns) > 0:
		lines = append(lines, fmt.Sprintf("Even with hidden damage at three times the odds the average margin is %s.",
			about(currency, triple.Margin)))
	}
	return lines
}

// itemWords says of one item what its job costs, what comes with it, and where to stop.
func itemWords(u *probe.Unknown, currency string) string {
	text := fmt.Sprintf("%s (%s, %s): %s. %s.", u.Item, u.Kind, Percent(u.Chance), u.Class.Describe(u.Grade),
		CostWords(u.OwnCost, u.Rest(), currency))
	if u.Present == nil || u.Absent == nil {
		return text
	}
	return fmt.Sprintf("%s If it's there: average margin %s, %s. If not: %s, %s.", text,
		about(currency, u.Present.Margin), stopWords(u.Present, currency), about(currency,
			u.Absent.Margin), stopWords(u.Absent, currency))
}

// leastRest is what the rest of a car must be dearer or cheaper by to be worth a word, in
// pounds.
const leastRest = 50

// CostWords says what an item's own job costs and, apart from it, what comes with it.
func CostWords(own, rest float64, currency string) string {
	text := "The job costs about " + about(currency, own)
	switch {
	case rest >= leastRest:
		text += ", and the rest of the car is then about " + about(currency, rest) + " dearer"
	case rest <= -leastRest && own+rest > 0:
		text += "; it takes the place of a lesser one, so the car is about " +
			about(currency, own+rest) + " dearer in all"
	}
	return text
}

// advice says which inspection to pay for, if any, and where to stop with its answer.
func advice(p *probe.Probe, currency string) string {
	if len(p.Inspections) == 0 {
		return "Nothing is worth paying for: no inspection in inspections.csv would tell you more."
	}
	if p.Chosen != nil && len(p.Chosen.Inspections) > 1 {
		return chosenWords(p.Chosen, currency)
	}
	best := p.Inspections[0]
	if best.Worth < 0.5 && !best.WorthAsking() {
		return "No inspection is worth paying for: whatever it showed, you would do the same at any likely price."
	}
	price, worth := withSign(currency, money.Whole(best.Price+best.Trip)), withSign(currency, money.Whole(best.Worth))
	if !best.WorthAsking() {
		return fmt.Sprintf("No inspection is worth its price: the best, %s, is worth %s and costs %s.",
			Clean(best.Name), worth, price)
	}
	return fmt.Sprintf("Worth paying for: %s (costs %s, worth %s); %s.",
		Clean(best.Name), price, worth, answerWords(&best, currency))
}

// chosenWords says which inspections to pay for together.
func chosenWords(c *probe.ChosenSet, currency string) string {
	names := make([]string, len(c.Inspections))
	for i, l := range c.Inspections {
		names[i] = Clean(l.Name)
	}
	text := fmt.Sprintf("Worth paying for together: %s (they cost %s", strings.Join(names, "; "),
		withSign(currency, money.Whole(c.Price)))
	if c.Trip > 0 {
		text += fmt.Sprintf(", %s of it for one trip to the sale", withSign(currency, money.Whole(c.Trip)))
	}
	return text + fmt.Sprintf(", and are worth %s).", withSign(currency, money.Whole(c.Worth)))
}

// answerWords says where to stop with each answer of an inspection.
func answerWords(l *probe.InspectionWorth, currency string) string {
	switch {
	case l.Clear == nil:
		return "it is sure to show something: " + stopWords(l.Bad, currency)
	case l.Bad == nil:
		return "it is sure to be clear: " + stopWords(l.Clear, currency)
	case l.Clear.HighestBid == 0 && l.Bad.HighestBid == 0:
		return "but whether it is clear or not, don't bid without knowing more"
	}
	text := fmt.Sprintf("if clear (%s) %s, else ", Percent(l.ClearChance), stopWords(l.Clear, currency))
	if l.Bad.HighestBid > 0 && l.Clear.HighestBid > 0 {
		return text + sumText(currency, l.Bad.HighestBid)
	}
	return text + stopWords(l.Bad, currency)
}

func stopWords(o *probe.Outcome, currency string) string {
	if o.HighestBid == 0 {
		return DontBid
	}
	return "stop at " + sumText(currency, o.HighestBid)
}
