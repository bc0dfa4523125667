package shop

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"wreckoner/evaluate/money"

	"wreckoner/evaluate/tabular"
)

// Premium is the name of the fee that is the buyer's premium.
const Premium = "premium"

// HammerLine is the name of the first line of every outlay.
const HammerLine = "hammer price"

// AnySite is the site whose fees apply to every lot, unless the lot's own site
// has a fee of the same name.
const AnySite = "*"

// Per says what a fee is counted by.
type Per uint8

// A fee is charged once a lot, or for each mile of the lot's distance, or for
// each day that the lot stands at the site beyond its free days.
const (
	PerLot Per = iota
	PerMile
	PerDay
)

// ParsePer reads lot, mile or day; blank is lot.
func ParsePer(text string) (Per, error) {
	switch text {
	case "", "lot":
		return PerLot, nil
	case "mile":
		return PerMile, nil
	case "day":
		return PerDay, nil
	}
	return 0, fmt.Errorf("%q is not a way to count a fee; write lot, mile or day", text)
}

func (p Per) String() string { return [...]string{"lot", "mile", "day"}[p] }

// A Band is one row of a site's fees. It applies from its hammer price up to
// the next band of the same site and fee.
type Band struct {
	Site, Fee string
	From      money.Pence
	Amount    money.Pence
	// Percent is a share of the whole hammer price.
	Percent money.Rate
	// VAT says whether the fee shows VAT, which comes on top.
	VAT bool
	Per Per
	// FreeDays is how many days at the site cost nothing; for PerDay.
	FreeDays float64
}

// A Tariff is all fees of all sites. The zero Tariff charges nothing.
type Tariff struct {
	sites   map[string][]fee
	charged map[string][]fee // by site, those of every site included
	rate    money.Rate
}

type fee struct {
	name  string
	bands []Band
}

// NewTariff sorts the bands into fees. rate is that of VAT. It fails where the
// lowest band of a fee does not start at 0, or two start at the same price.
func NewTariff(bands []Band, rate money.Rate) (*Tariff, error) {
	t := &Tariff{sites: map[string][]fee{}, rate: rate}
	for _, b := range bands {
		fees := t.sites[b.Site]
		i := slices.IndexFunc(fees, func(f fee) bool { return f.name == b.Fee })
		if i < 0 {
			i = len(fees)
			fees = append(fees, fee{name: b.Fee})
		}
		fees[i].bands = append(fees[i].bands, b)
		t.sites[b.Site] = fees
	}
	for site, fees := range t.sites {
		for _, f := range fees {
			slices.SortStableFunc(f.bands, func(a, b Band) int { return cmp.Compare(a.From, b.From) })
			if first := f.bands[0].From; first != 0 {
				return nil, fmt.Errorf("site %q, fee %q: the lowest band starts at %s; one must start at 0", site, f.name, first)
			}
			for i, b := range f.bands[1:] {
				if b.From == f.bands[i].From {
					return nil, fmt.Errorf("site %q, fee %q: two bands start at %s; keep one", site, f.name, b.From)
				}
			}
		}
	}
	t.charged = map[string][]fee{AnySite: t.sites[AnySite]}
	for site, own := range t.sites {
		if site != AnySite {
			t.charged[site] = withCommon(own, t.sites[AnySite])
		}
	}
	return t, nil
}

// withCommon returns a site's own fees and, behind them, the common ones that it has no fee of its own for.
func withCommon(own, common []fee) []fee {
	all := slices.Clone(own)
	for _, f := range common {
		if !slices.ContainsFunc(own, func(o fee) bool { return o.name == f.name }) {
			all = append(all, f)
		}
	}
	return all
}

// Has reports whether the tariff has rows of that site's own.
func (t *Tariff) Has(site string) bool { return len(t.sites[site]) > 0 }

// Sites returns the names of the sites, sorted, without AnySite.
func (t *Tariff) Sites() []string {
	var names []string
	for name := range t.sites {
		if name != AnySite {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

// Bands returns the bands that a lot of a site may be charged by: the site's own
// and those of every site, fee by fee, each fee from its lowest band up.
func (t *Tariff) Bands(site string) []Band {
	names := []string{site, AnySite}
	if site == AnySite {
		names = names[:1]
	}
	var bands []Band
	for _, name := range names {
		for _, f := range t.sites[name] {
			bands = append(bands, f.bands...)
		}
	}
	return bands
}

// PerMile reports whether any fee is counted by the mile.
func (t *Tariff) PerMile() bool {
	for _, fees := range t.sites {
		for _, f := range fees {
			if slices.ContainsFunc(f.bands, func(b Band) bool { return b.Per == PerMile }) {
				return true
			}
		}
	}
	return false
}

// A Purchase is what a lot's fees depend on beside the hammer price.
type Purchase struct {
	Site string
	// Miles from the site to the shop.
	Miles float64
	// Days that the lot stands at the site before it is collected.
	Days float64
	// FreeDays, where it is not nil, stands in for that of the fees.
	FreeDays *float64
	// Plus says that VAT is added to the hammer price.
	Plus bool
}

// A Line is one thing paid to have the car in the yard.
type Line struct {
	Name   string
	Amount money.Pence
	// VAT is what VAT adds to the amount.
	VAT  money.Pence
	band *Band
}

// An Outlay is all that is paid to have a car in the yard.
type Outlay struct {
	// Lines holds the hammer price first, then the fees.
	Lines    []Line
	purchase Purchase
	// Total is the sum of all amounts and their VAT.
	Total money.Pence
	// VAT is the VAT in Total.
	VAT money.Pence
	// PurchasePrice is the hammer price and the premium where that shows no
	// VAT: what the VAT margin scheme sets against the sale.
	PurchasePrice money.Pence
}

// Outlay returns what is paid at a hammer price. Every line is rounded once.
func (t *Tariff) Outlay(hammer money.Pence, p Purchase) Outlay {
	o := Outlay{Lines: make([]Line, 1, 8), PurchasePrice: hammer, purchase: p}
	o.Lines[0] = Line{Name: HammerLine, Amount: hammer}
	if p.Plus {
		o.Lines[0].VAT = t.rate.Of(hammer)
	}
	for _, f := range t.of(p.Site) {
		b := f.at(hammer)
		line := Line{Name: f.name, Amount: b.charge(hammer, p), band: b}
		if b.VAT {
			line.VAT = t.rate.Of(line.Amount)
		} else if f.name == Premium {
			o.PurchasePrice += line.Amount
		}
		o.Lines = append(o.Lines, line)
	}
	for _, l := range o.Lines {
		o.Total += l.Amount + l.VAT
		o.VAT += l.VAT
	}
	return o
}

// How says with what numbers the amount of a line was reached; "" for the hammer.
func (o *Outlay) How(line int) string {
	if line == 0 {
		return ""
	}
	return o.Lines[line].band.how(o.purchase)
}

// Sum returns the total, the VAT in it and the purchase price of Outlay,
// without its lines.
func (t *Tariff) Sum(hammer money.Pence, p Purchase) (total, vat, purchase money.Pence) {
	total, purchase = hammer, hammer
	if p.Plus {
		vat = t.rate.Of(hammer)
	}
	fees := t.of(p.Site)
	for i := range fees {
		b := fees[i].at(hammer)
		amount := b.charge(hammer, p)
		total += amount
		if b.VAT {
			vat += t.rate.Of(amount)
		} else if fees[i].name == Premium {
			purchase += amount
		}
	}
	return total + vat, vat, purchase
}

// Steps returns the hammer prices above 0 at which a band of the lot's fees
// begins, ascending. Between two of them the outlay never falls.
func (t *Tariff) Steps(site string) []money.Pence {
	fees, count := t.of(site), 0
	for _, f := range fees {
		count += len(f.bands) - 1
	}
	steps := make([]money.Pence, 0, count)
	for _, f := range fees {
		for _, b := range f.bands[1:] {
			steps = append(steps, b.From)
		}
	}
	slices.Sort(steps)
	return slices.Compact(steps)
}

// of returns the fees of the site, then those of every site which the site has no fee of its own for.
func (t *Tariff) of(site string) []fee {
	if fees, known := t.charged[site]; known {
		return fees
	}
	return t.charged[AnySite]
}

func (f *fee) at(hammer money.Pence) *Band {
	i := len(f.bands) - 1
	for i > 0 && f.bands[i].From > hammer {
		i--
	}
	return &f.bands[i]
}

func (b *Band) charge(hammer money.Pence, p Purchase) money.Pence {
	one := b.Amount + b.Percent.Of(hammer)
	switch b.Per {
	case PerMile:
		return times(one, p.Miles)
	case PerDay:
		free := b.FreeDays
		if p.FreeDays != nil {
			free = *p.FreeDays
		}
		return times(one, max(0, p.Days-free))
	}
	return one
}

// how says in words what charge computes.
func (b Band) how(p Purchase) string {
	text := b.Amount.String()
	switch {
	case b.Percent > 0 && b.Amount == 0:
		text = fmt.Sprintf("%s%% of the hammer price", b.Percent.Percent())
	case b.Percent > 0:
		text += fmt.Sprintf(" and %s%% of the hammer price", b.Percent.Percent())
	}
	switch b.Per {
	case PerMile:
		text += fmt.Sprintf(" for each of %g miles", p.Miles)
	case PerDay:
		free := b.FreeDays
		if p.FreeDays != nil {
			free = *p.FreeDays
		}
		text += fmt.Sprintf(" a day beyond %g free, of which there are %g", free, max(0, p.Days-free))
	default:
		if b.From > 0 {
			text += fmt.Sprintf(", from %s", b.From)
		}
	}
	return text
}

// times multiplies by a count that is a decimal of at most three places, and
// rounds half away from zero.
func times(p money.Pence, n float64) money.Pence {
	return money.Divide(int64(p)*int64(math.Round(n*1000)), 1000)
}

type feeRow struct {
	Site     tabular.Cell `csv:"site"`
	Fee      tabular.Cell `csv:"fee"`
	From     tabular.Cell `csv:"from,omitempty"`
	Amount   tabular.Cell `csv:"amount,omitempty"`
	Percent  tabular.Cell `csv:"percent,omitempty"`
	VAT      tabular.Cell `csv:"vat,omitempty"`
	Per      tabular.Cell `csv:"per,omitempty"`
	FreeDays tabular.Cell `csv:"free_days,omitempty"`
}

func (r *shopReader) fees() error {
	var bands []Band
	err := each(r, FeesFile, func(v *feeRow, k *tabular.Check) {
		const blank = "write a name, or * for every site"
		b := Band{Site: k.Name("site", v.Site, blank), Fee: strings.ToLower(k.Name("fee", v.Fee, blank))}
		pence := func(column string, c tabular.Cell) money.Pence {
			if !c.Given() {
				return 0
			}
			p, err := money.Parse(c.Text())
			if err == nil && p < 0 {
				err = fmt.Errorf("%q is negative; a fee starts at 0", c.Text())
			}
			k.Bad(column, err)
			return p
		}
		b.From, b.Amount = pence("from", v.From), pence("amount", v.Amount)
		var err error
		if v.Percent.Given() {
			b.Percent, err = money.ParseRate(v.Percent.Text())
			k.Bad("percent", err)
		}
		if v.VAT.Given() {
			b.VAT = k.YesNo("vat", v.VAT)
		}
		b.Per, err = ParsePer(strings.ToLower(v.Per.Text()))
		k.Bad("per", err)
		if v.FreeDays.Given() {
			b.FreeDays = k.Number("free_days", v.FreeDays, 0, 3650)
		}
		if !k.Failed {
			bands = append(bands, b)
		}
	})
	if err != nil {
		return err
	}
	tariff, err := NewTariff(bands, r.shop.VATRate)
	if err != nil {
		r.problems = append(r.problems, tabular.Problem{File: r.shown(FeesFile), Message: err.Error()})
		tariff, err = NewTariff(nil, r.shop.VATRate)
	}
	r.shop.Tariff = tariff
	return err
}
