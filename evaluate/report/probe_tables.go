package report

import (
	"fmt"
	"math"
	"strings"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/report/draw"
)

// Document returns the probes for a person: what to do first, then the figures.
func (ps *Probes) Document(int) *Document {
	d := &Document{}
	for _, p := range ps.Probes {
		ps.show(d, p)
	}
	if !ps.Quiet {
		d.Say(strings.Join(ProbeLegend, " "))
	}
	d.Say(Caution)
	return d
}

// ProbeLegend says what the words of a probe mean.
var ProbeLegend = []string{
	"Worth: how much better off you are on average for knowing before you bid, as the price varies about the guide " +
		"and each answer is bid on as far as your limits allow. Below nothing, your limits would have you leave a car " +
		"that pays on average.",
	"The rest: how much dearer the rest of the car is where the damage is there. Such a car was usually hit harder, " +
		"and damage brings damage.",
	"There, or found: this damage or worse at the same spot. Not there: neither.",
	"Still pays up to: the chance of it at which the average margin is nothing, worked out again at that chance.",
}

func (ps *Probes) show(d *Document, p *probe.Probe) {
	d.Blocks = append(d.Blocks, Block{
		Heading: fmt.Sprintf("Lot %s, %s (category %s)", Clean(p.Lot.Number), CarWords(p.Result), Clean(p.Lot.Category)),
		Text:    strings.Join(ProbeWords(p, ps.Currency), "\n"),
	})
	d.Show("What an inspection is worth, in "+unit(ps.Currency), inspections(p))
	d.Show("Damage that may be there, at a hammer price of "+sumText(ps.Currency, p.Price), unknowns(p))
	d.Show("What each figure could change: the average margin with one number low and high", inputs(p))
	d.Show("If the chances of hidden damage are off", odds(p))
}

// figureColumns are columns of numbers with these heads.
func figureColumns(heads ...string) []Column {
	out := make([]Column, len(heads))
	for i, head := range heads {
		out[i] = right(head)
	}
	return out
}

func inspections(p *probe.Probe) *Table {
	t := tableOf(wraps("inspection"), right("price"), right("worth"), left("worth\nit?"))
	t.Columns = append(t.Columns, figureColumns("chance\nof clear", "clear:\nstop at", "found:\nstop at")...)
	for _, l := range p.Inspections {
		ask := "no"
		if l.WorthAsking() {
			ask = "yes"
		}
		t.Add(Clean(l.Name), money.Whole(l.Price+l.Trip), money.Whole(max(0, l.Worth)), ask, Percent(l.ClearChance),
			stop(l.Clear),
			stop(l.Bad))
	}
	return t
}

func unknowns(p *probe.Probe) *Table {
	t := &Table{Columns: append([]Column{left("item\n\nchance")}, figureColumns(
		"own job\n\nthe rest", "margin:\nthere\nnot", "loss:\nthere\nnot", "stop at:\nthere\nnot",
		"still\npays\nup to", "share of\ndoubt", "worth")...)}
	for _, u := range p.Unknowns {
		rest := ""
		if u.Present != nil && u.Absent != nil {
			rest = signedTens(u.Rest())
		}
		t.Add(fmt.Sprintf("%s\n%s, %s", u.Item, u.Kind, Percent(u.Chance)), Pounds(u.OwnCost)+"\n"+rest,
			marginText(u.Present)+"\n"+marginText(u.Absent), lossText(u.Present)+"\n"+lossText(u.Absent),
			stop(u.Present)+"\n"+stop(u.Absent), PaysWords(&u), Percent(u.VarianceShare), money.Whole(max(0, u.Worth)))
	}
	return t
}

func inputs(p *probe.Probe) *Table {
	t := &Table{Columns: append([]Column{wraps("number")}, figureColumns("low", "high", "margin at low",
		"at high", "swing")...)}
	for _, i := range p.Inputs {
		t.Add(InputName(i.Name), inputText(i.Low, i.Unit), inputText(i.High, i.Unit),
			Pounds(i.MarginAtLow), Pounds(i.MarginAtHigh), Pounds(i.Swing()))
	}
	return t
}

func odds(p *probe.Probe) *Table {
	t := &Table{Columns: append([]Column{left("damage that may be there")}, figureColumns("average margin", "loss",
		"stop at")...)}
	for _, o := range p.Odds {
		t.Add(OddsWords(o.Factor), Pounds(o.Margin), Percent(o.LossChance), stop(&o.Outcome))
	}
	return t
}

// PaysWords says up to what chance of an item money is made on average.
func PaysWords(u *probe.Unknown) string {
	switch {
	case math.IsNaN(u.BreakEvenChance) && u.Pays, u.BreakEvenChance > 0.99:
		return "however\nlikely"
	case math.IsNaN(u.BreakEvenChance), u.BreakEvenChance < 0.01:
		return "never"
	}
	return Percent(u.BreakEvenChance)
}

// OddsWords says of what factor the odds of hidden damage are.
func OddsWords(factor float64) string {
	switch factor {
	case 0:
		return "none of it there"
	case 0.5:
		return "at half the odds"
	case 1:
		return "as listed"
	case 2:
		return "at twice the odds"
	case 3:
		return "at three times the odds"
	}
	return fmt.Sprintf("at %g times the odds", factor)
}

// InputName says which number was held low and high.
func InputName(name string) string {
	switch name {
	case "a mark is a grade more":
		return "chance of a worse grade"
	case "a mark is a grade less":
		return "chance of a lesser grade"
	case "devaluation by the marker":
		return "category discount"
	case "resale value":
		return "sale price"
	case "lead time":
		return "days for parts"
	}
	return name
}

// unit is the sign of a currency, or its code.
func unit(currency string) string {
	return strings.TrimRight(draw.Money(currency).Value(0), "0\u00a0")
}

// sumText writes an exact price with its sign.
func sumText(currency string, p money.Pence) string { return withSign(currency, Whole(p)) }

// about writes an amount in pounds with its sign, to the nearest ten.
func about(currency string, x float64) string { return withSign(currency, Pounds(x)) }

func withSign(currency, text string) string {
	sign := strings.TrimSuffix(draw.Money(currency).Value(0), "0")
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		return "-" + sign + rest
	}
	return sign + text
}

// signedTens writes an amount to the nearest ten with its sign.
func signedTens(x float64) string {
	text := Pounds(x)
	if x > 0 && text != "0" {
		return "+" + text
	}
	return text
}

// ChanceTimes says by what a chance was multiplied.
func ChanceTimes(x float64) string { return fmt.Sprintf("%g times", x) }

func stop(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return StopWords(o.HighestBid)
}

func marginText(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return Pounds(o.Margin)
}

func lossText(o *probe.Outcome) string {
	if o == nil {
		return ""
	}
	return Percent(o.LossChance)
}

func inputText(x float64, unit string) string {
	switch unit {
	case "share":
		return Percent(x)
	case "times":
		return fmt.Sprintf("%g times", x)
	case "times its chance":
		return ChanceTimes(x)
	}
	if math.Abs(x) < 100 {
		return fmt.Sprintf("%.2f", x)
	}
	return Pounds(x)
}
