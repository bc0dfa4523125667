package deal

import (
	"fmt"
	"slices"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A Part is what sort of money a line of the workings is.
type Part string

// The parts. VAT is what a registered shop owes and takes back, beside the VAT within
// the other parts.
const (
	PartHammer  Part = "hammer"
	PartFees    Part = "fees"
	PartRepair  Part = "repair"
	PartOther   Part = "other"
	PartTime    Part = "time"
	PartSale    Part = "sale"
	PartSelling Part = "selling"
	PartVAT     Part = "vat"
	PartStop    Part = "stop"
	// PartWinning is the top-bidder allowance on the margin.
	PartWinning Part = "winning"
)

// The groups that the lines of the workings come in, as a rebuilder would tell them. Each
// ends with its subtotal.
const (
	GroupBuy   = "to buy"
	GroupFix   = "to fix"
	GroupWait  = "to wait"
	GroupSell  = "to sell"
	GroupWrong = "what usually goes wrong"
)

// StopCaution is said wherever a car is said to be sold on as it stands, or broken.
const StopCaution = "a car sold as it stands may not be fit or lawful for the road, and breaking end-of-life " +
	"vehicles needs a permitted site or an exemption: check the rules where you are"

// HammerVAT is the name of the line with the VAT on the hammer price.
const HammerVAT = "VAT on " + shop.HammerLine

// A Step is one line of the workings.
type Step struct {
	Name string
	Part Part
	// How says with what numbers the amount was reached.
	How string
	// Amount is signed: money out is negative.
	Amount money.Pence
	// Spot is where repair money goes; nil for the other lines.
	Spot *damage.Spot
	// Subtotal says that the line repeats the sum of the lines since the last
	// subtotal, and adds nothing.
	Subtotal bool
}

// MayStop reports whether the workings count on leaving the car unfinished.
func (w *Workings) MayStop() bool {
	return slices.ContainsFunc(w.Steps, func(s Step) bool { return s.Part == PartStop && !s.Subtotal })
}

// Workings lead from the hammer price to the mean margin, in means, each line rounded
// once. Total is the sum of the lines that are no subtotals.
type Workings struct {
	Hammer money.Pence
	Steps  []Step
	Total  money.Pence

	part Part        // of the steps that are added next
	sum  money.Pence // since the last subtotal
}

// Means are what the workings need of a lot, on average.
type Means struct {
	// Days from the sale to the money; ForSale of them the car is for sale.
	Days, ForSale float64
	// Value is the car's before the damage, Price what it brings, in pounds; Fade is what
	// is left of a pound of it by the day of the sale.
	Value money.Pence
	Price float64
	Fade  float64
	// Above is the mean of what the price exceeds an amount by, where it does.
	Above func(amount float64) float64
	// Sale has the lines that lead to Price, which they add up to; nil: one line.
	Sale []Line
	// Won is the top-bidder allowance on a mean margin at the hammer price, as a line; nil: nothing.
	Won     func(hammer, margin money.Pence) (l Line, ok bool)
	Repairs []RepairMean
	Items   []ItemMean
	// Stopped is the chance that the car is not finished, and Gain what the right not to
	// finish it adds to the mean margin, in pounds.
	Stopped, Gain float64
}

// A Line is an amount with its name, and in words how it was reached.
type Line struct {
	Name, How string
	Amount    money.Pence
}

// A RepairMean is what one place on the car costs: spend in pounds, own hours, and in
// words what may be charged there.
type RepairMean struct {
	Spot         damage.Spot
	Spend, Hours float64
	How          string
	// Doubtful says that nothing is coded as seen there.
	Doubtful bool
}

// An ItemMean is what a fixed item or an extra costs, in pounds, and in words how
// often it is charged.
type ItemMean struct {
	shop.Charge
	Mean float64
	How  string
	// Doubtful says that it is seldom charged.
	Doubtful bool
}

// wrong reports whether it is what goes wrong, rather than what is known to come.
func (x *ItemMean) wrong() bool { return x.Doubtful || x.AfterSale }

func (w *Workings) add(s Step) {
	s.Part = w.part
	w.Steps = append(w.Steps, s)
	w.Total += s.Amount
	w.sum += s.Amount
}

func (w *Workings) cost(pounds float64, name, how string, args ...any) {
	if p := money.FromPounds(pounds); p != 0 {
		w.add(Step{Name: name, How: fmt.Sprintf(how, args...), Amount: -p})
	}
}

func (w *Workings) subtotal(name string) {
	if len(w.Steps) > 0 && w.Steps[len(w.Steps)-1].Subtotal {
		return // of nothing
	}
	w.Steps = append(w.Steps, Step{Name: name, Part: w.part, Amount: w.sum, Subtotal: true})
	w.sum = 0
}

// Workings returns the lines from a hammer price to the mean margin.
func (d *Deal) Workings(hammer money.Pence, m Means) *Workings {
	w, p := &Workings{Hammer: hammer, part: PartHammer}, d.At(hammer)
	outlay := d.Outlay(hammer)
	for i, l := range outlay.Lines {
		w.cost(l.Amount.Pounds(), l.Name, "%s", outlay.How(i))
		w.part = PartFees // the hammer price comes first
		w.cost(l.VAT.Pounds(), "VAT on "+l.Name, "%s%% of %s", d.Rate.Percent(), l.Amount)
	}
	w.subtotal(GroupBuy)

	back := 0.0
	for _, at := range m.Repairs {
		back += d.SpendBack * at.Spend
	}
	for _, x := range m.Items {
		back += (1 - d.Item(x.Charge)) * x.Mean
	}
	w.repairs(d, m.Repairs, false)
	w.items(m.Items, false)
	w.subtotal(GroupFix)

	w.part = PartTime
	holding := w.time(d, &p, &m)
	w.subtotal(GroupWait)

	w.sale(d, &m)
	selling := d.Selling(m.Price)
	w.part = PartSelling
	w.cost(selling, "selling", "%.2f and %g%% of the sale", d.SellFixed, 100*d.SellShare)
	w.part = PartVAT
	if d.Registered() {
		w.vat(d, &p, &m, outlay, back+d.SellBack*selling+d.HoldingBack*holding)
	}
	w.subtotal(GroupSell)

	w.repairs(d, m.Repairs, true)
	w.items(m.Items, true)
	w.part = PartStop
	w.cost(-m.Gain, "sold on or broken instead", "in %.1f%%, where the strip shows that finishing would cost more",
		100*m.Stopped)
	w.subtotal(GroupWrong)
	if m.Won != nil {
		if l, ok := m.Won(hammer, w.Total-money.FromPounds(m.Gain)); ok {
			w.part = PartWinning
			w.line(l)
			w.subtotal("top-bidder allowance")
		}
	}
	return w
}

// line adds a line that has an amount.
func (w *Workings) line(l Line) {
	if l.Amount != 0 {
		w.add(Step{Name: l.Name, How: l.How, Amount: l.Amount})
	}
}

// sale adds what the car brings, and what of it fades until then.
func (w *Workings) sale(d *Deal, m *Means) {
	w.part = PartSale
	for _, l := range m.Sale {
		w.line(l)
	}
	if m.Sale != nil {
		return
	}
	price := m.Price
	if m.Fade > 0 && m.Fade < 1 {
		price /= m.Fade
	}
	w.cost(-price, "sale price", "%s before the damage, less %.2f%% category discount", m.Value,
		100*(1-price/m.Value.Pounds()))
	w.cost(price-m.Price, "fading price", "%.2f%% of it in %.2f days, at your rate a month", 100*(1-m.Price/price), m.Days)
}

// items adds fixed items and extras: those that go wrong, or the others.
func (w *Workings) items(all []ItemMean, wrong bool) {
	w.part = PartOther
	for _, x := range all {
		if x.wrong() == wrong {
			w.cost(x.Mean, x.Name, "%s", x.How)
		}
	}
}

// repairs adds two lines for each place: those at which nothing is coded as seen, or the
// others.
func (w *Workings) repairs(d *Deal, all []RepairMean, doubtful bool) {
	w.part = PartRepair
	for _, at := range all {
		if at.Doubtful != doubtful {
			continue
		}
		first, spot := len(w.Steps), at.Spot
		place := spot.Zone.String() + " " + spot.Class.String()
		w.cost(at.Spend, place+": parts and trades", "%s", at.How)
		w.cost(d.Labour*at.Hours, place+": your hours", "%.2f hours at %.2f", at.Hours, d.Labour)
		for i := first; i < len(w.Steps); i++ {
			w.Steps[i].Spot = &spot
		}
	}
}

// time adds the lines of holding and finance, and returns the holding, in pounds.
func (w *Workings) time(d *Deal, p *Price, m *Means) (holding float64) {
	holding, finance := p.Time(m.Days, m.ForSale)
	if yard := m.ForSale * d.ForSaleGross; d.DayGross != d.ForSaleGross {
		w.cost(holding-yard, "holding", "%.2f days at %.2f", m.Days-m.ForSale, d.DayGross)
		w.cost(yard, "holding while for sale", "%.2f days at %.2f", m.ForSale, d.ForSaleGross)
	} else {
		w.cost(holding, "holding", "%.2f days at %.2f", m.Days, d.DayGross)
	}
	w.cost(finance, "finance", "%g%% a year of %s for %.2f days", 100*d.financeYear, money.FromPounds(p.Outlay), m.Days)
	return holding
}

// vat adds what a registered shop owes and takes back; back is the VAT taken back on
// all but the outlay, in pounds.
func (w *Workings) vat(d *Deal, p *Price, m *Means, outlay shop.Outlay, back float64) {
	rate := d.Rate.Percent() + "/" + (d.Rate + money.RateOf(1)).Percent()
	if d.Buy.Plus {
		w.cost(p.Due(m.Price), "VAT due on the sale", "%s of %.2f", rate, m.Price)
	} else {
		w.cost(d.Scheme*m.Above(p.Bought), "VAT due under the margin scheme",
			"mean of %s of what the sale exceeds the purchase price of %s by, where it does", rate, outlay.PurchasePrice)
	}
	w.cost(-p.OutlayBack, "VAT taken back on the outlay", "as shown above")
	w.cost(-back, "VAT taken back on the rest", "%s of %.2f that carries VAT", rate, back/d.VAT)
}
