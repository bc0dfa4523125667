package shop

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// A Text is one file of a shop folder, line by line.
type Text struct {
	File string `json:"file"`
	// BuiltIn says that its figures were the starter's.
	BuiltIn bool     `json:"built_in"`
	Lines   []string `json:"lines"`
}

// Texts returns the shop as the files of a shop folder, complete: every key is written,
// the starter's that stood in for missing ones included, so that no later starter
// changes what ReadTexts reads from them.
func (s *Shop) Texts() ([]Text, error) {
	settings, err := s.settingsText()
	if err != nil {
		return nil, err
	}
	builtIn := map[string]bool{}
	for _, x := range s.Sources {
		builtIn[x.File] = x.BuiltIn
	}
	out := []Text{{SettingsFile, builtIn[SettingsFile], strings.Split(strings.TrimSuffix(settings, "\n"), "\n")}}
	for _, t := range []struct {
		file string
		rows [][]string
	}{
		{SegmentsFile, s.segmentRows()}, {CategoriesFile, s.categoryRows()}, {FeesFile, s.Tariff.rows()},
		{AgesFile, s.ageRows()}, {InspectionsFile, s.inspectionRows()}, {CostsFile, costRows(s.Costs)}, {HiddenFile,
			hiddenRows(s.Costs)},
	} {
		if t.rows == nil {
			continue
		}
		text := Text{File: t.file, BuiltIn: builtIn[t.file]}
		for _, row := range t.rows {
			text.Lines = append(text.Lines, tabular.Line(row, ','))
		}
		out = append(out, text)
	}
	return out, nil
}

// ReadTexts reads a shop from texts that Texts returned. The error names the first
// fault.
func ReadTexts(texts []Text) (*Shop, error) {
	r := &shopReader{folder: "frozen", shop: &Shop{}, texts: map[string]string{}}
	for _, t := range texts {
		r.texts[t.File] = strings.Join(t.Lines, "\n") + "\n"
	}
	if err := r.read(); err != nil {
		return nil, err
	}
	if len(r.problems) > 0 {
		return nil, r.problems[0]
	}
	r.shop.Sources = nil
	for _, t := range texts {
		r.shop.Sources = append(r.shop.Sources, Source{t.File, t.BuiltIn})
	}
	return r.shop, nil
}

// settingsText returns shop.toml.
func (s *Shop) settingsText() (string, error) {
	rate, step := s.VATRate.Float(), s.BidStep.Pounds()
	three := func(a stats.Amount) *points { return &points{a.Low, a.Mid, a.High} }
	f := settingsFile{
		Currency: &s.Currency, LabourRate: &s.LabourRate, HoursPerDay: &s.HoursPerDay, CollectDays: &s.CollectDays,
		FinishDays: &s.FinishDays, HoldingPerDay: &s.HoldingPerDay, FinanceRate: &s.FinanceRate,
		VATRegistered: &s.VATRegistered, VATRate: &rate, SpendVATShare: &s.SpendVATShare,
		SellFixed: &s.SellFixed, SellPercent: &s.SellPercent, TargetMargin: &s.TargetMargin,
		TargetReturn: &s.TargetReturn, LossLimit: &s.LossLimit, BidStep: &step, SeverityLink: &s.SeverityLink,
		HiddenLink: &s.HiddenLink, SuspectedChance: &s.SuspectedChance, Cash: &s.Cash, StripDays: &s.StripDays,
		LeadSpread: three(s.LeadSpread), SellDays: three(s.SellDays), GuideSpread: three(s.GuideSpread),
		CostBias: &s.CostBias, UncodedStructure: &s.UncodedStructure, SellVAT: &s.SellVAT, HoldingVAT: &s.HoldingVAT,
		CarsAtOnce: said(s.CarsAtOnce), WorkDays: said(s.WorkDays), HoldingForSale: s.HoldingForSale, Fade: said(s.Fade),
		StripHours: said(s.StripHours), StripError: said(s.StripError), Visit: said(s.Visit),
		PriceLink: &s.PriceLink, MarketLink: &s.MarketLink, BayValue: said(s.BayValue), MoneyValue: said(s.MoneyValue),
		Turnover: &s.Turnover, VATThreshold: &s.VATThreshold, evidenceFile: s.Evidence.written(),
	}
	if s.CodingUp != [damage.ClassCount]float64{} {
		f.CodingUp = (*byClass)(&s.CodingUp)
	}
	if s.CodingDown != [damage.ClassCount]float64{} {
		f.CodingDown = (*byClass)(&s.CodingDown)
	}
	if s.Inflation != 0 {
		f.Inflation = &s.Inflation
	}
	if !s.CostsAsOf.IsZero() {
		f.CostsAsOf = &day{s.CostsAsOf}
	}
	f.Bays, f.SaleEvery = said(s.Bays), said(s.SaleEvery)
	if s.SellOn != nil {
		f.SellOn = three(*s.SellOn)
	}
	charge := func(c Charge) fixed {
		x := fixed{Name: c.Name, Low: &c.Amount.Low, Mid: &c.Amount.Mid, High: &c.Amount.High, VAT: c.VAT}
		if c.AfterSale {
			x.When = AfterSale
		}
		return x
	}
	for _, c := range s.Fixed {
		f.Fixed = append(f.Fixed, charge(c))
	}
	for _, x := range s.Extras {
		e := extra{fixed: charge(x.Charge), Column: x.Column, Value: x.Value, UnknownChance: x.UnknownChance}
		for _, a := range x.After {
			e.After = append(e.After, a.String())
		}
		if x.Scaled {
			e.Scale = x.Scale.Letter()
		}
		if x.YearFrom > 0 {
			e.YearFrom = &x.YearFrom
		}
		if x.Wear {
			e.OdometerFrom, e.AgeFrom = &x.OdometerFrom, &x.AgeFrom
		}
		f.Extra = append(f.Extra, e)
	}
	var b strings.Builder
	enc := toml.NewEncoder(&b)
	enc.Indent = ""
	err := enc.Encode(f)
	return b.String(), err
}

// String writes an After as ParseAfter reads it: "s1", "nose e2".
func (a After) String() string {
	mark := fmt.Sprintf("%s%d", a.Class.Letter(), a.Grade)
	if a.AnyZone {
		return mark
	}
	return a.Zone.String() + " " + mark
}

// said returns a number, nil for 0, which stands for what is not said.
func said(x float64) *float64 {
	if x == 0 {
		return nil
	}
	return &x
}

func (s *Shop) segmentRows() [][]string {
	rows := [][]string{{"segment", "spend", "hours", "value_spread"}}
	own := slices.ContainsFunc(s.Segments, func(x Segment) bool {
		return x.Sell != 0 ||
			x.Classes != [damage.ClassCount]float64{}
	})
	if own {
		rows[0] = append(rows[0], "s", "c", "r", "m", "e", "sell")
	}
	for _, x := range s.Segments {
		row := []string{x.Name, money.Plain(x.Spend), money.Plain(x.Hours), money.Plain(x.ValueSpread)}
		if own {
			for _, letter := range []string{"s", "c", "r", "m", "e"} {
				row = append(row, timesText(x.Classes[classOf(letter)]))
			}
			row = append(row, timesText(x.Sell))
		}
		rows = append(rows, row)
	}
	return rows
}

// classOf is the class of one of our own letters.
func classOf(letter string) damage.Class {
	c, err := damage.ParseClass(letter)
	if err != nil {
		panic("shop: no class " + letter)
	}
	return c
}

// ageRows returns ages.csv, nil where there are no bands.
func (s *Shop) ageRows() [][]string {
	if len(s.Ages) == 0 {
		return nil
	}
	rows := [][]string{{"from", "s", "c", "r", "m", "e", "hours", "note"}}
	for _, a := range s.Ages {
		row := []string{strconv.Itoa(a.From)}
		for _, letter := range rows[0][1:6] {
			row = append(row, money.Plain(a.Classes[classOf(letter)]))
		}
		rows = append(rows, append(row, money.Plain(a.Hours), a.Note))
	}
	return rows
}

func (s *Shop) categoryRows() [][]string {
	rows := [][]string{{"category", "rebuild", "segment", "low", "mid", "high", "builds", "note", "guide_share", "sell"}}
	for _, c := range s.Categories {
		rows = append(rows, []string{
			c.Name, tabular.YesNo(c.Rebuild), anyAs(c.Segment,
				"*"), money.Plain(c.Share.Low), money.Plain(c.Share.Mid), money.Plain(c.Share.High),
			money.Plain(c.Builds), c.Note, money.Plain(c.GuideShare), timesText(c.Sell),
		})
	}
	return rows
}

// timesText writes a multiplier, nothing for 0: none of its own.
func timesText(x float64) string {
	if x == 0 {
		return ""
	}
	return money.Plain(x)
}

// rows returns the tariff's, the fees of every site last.
func (t *Tariff) rows() [][]string {
	rows := [][]string{{"site", "fee", "from", "amount", "percent", "vat", "per", "free_days"}}
	for _, site := range append(t.Sites(), AnySite) {
		for _, f := range t.sites[site] {
			for _, b := range f.bands {
				rows = append(rows, []string{
					b.Site, b.Fee, money.Plain(b.From.Pounds()), money.Plain(b.Amount.Pounds()), money.Plain(b.Percent.Float()),
					tabular.YesNo(b.VAT),
					b.Per.String(), money.Plain(b.FreeDays),
				})
			}
		}
	}
	return rows
}

func (s *Shop) inspectionRows() [][]string {
	rows := [][]string{{"look", "price", "finds", "zones", "classes", "note", "visit"}}
	for _, x := range s.Inspections {
		var zones, classes []string
		for _, z := range x.Zones {
			zones = append(zones, z.String())
		}
		for _, c := range x.Classes {
			classes = append(classes, c.Letter())
		}
		rows = append(rows, []string{
			x.Name, money.Plain(x.Price), money.Plain(x.Finds), anyAs(strings.Join(zones, " "),
				"*"), anyAs(strings.Join(classes, " "),
				"*"), x.Note, map[bool]string{true: "yes"}[x.Visit],
		})
	}
	return rows
}

func costRows(t *costs.Table) [][]string {
	rows := [][]string{{
		"zone", "class", "grade", "spend_low", "spend_mid", "spend_high", "hours_low", "hours_mid", "hours_high", "lead_days",
		"builds", "basis", "shape",
	}}
	parts := slices.ContainsFunc(t.Rows(), func(r costs.Row) bool { return r.Common != 0 })
	if parts {
		rows[0] = append(rows[0], "parts")
	}
	dated := slices.ContainsFunc(t.Rows(), func(r costs.Row) bool { return !r.Priced.IsZero() })
	if dated {
		rows[0] = append(rows[0], "priced")
	}
	for _, r := range t.Rows() {
		row := place(r.Any, "*", r.Item)
		for _, a := range []stats.Amount{r.Spend, r.Hours} {
			row = append(row, money.Plain(a.Low), money.Plain(a.Mid), money.Plain(a.High))
		}
		row = append(row, money.Plain(r.LeadDays), money.Plain(r.Builds), r.Basis, r.Spend.Shape.String())
		if parts {
			row = append(row, money.Plain(math.Round(1e9*(1-r.Common))/1e9))
		}
		switch {
		case dated && r.Priced.IsZero():
			row = append(row, "")
		case dated:
			row = append(row, r.Priced.Format(time.DateOnly))
		}
		rows = append(rows, row)
	}
	return rows
}

func hiddenRows(t *costs.Table) [][]string {
	rows := [][]string{{"when_zone", "when_class", "when_grade", "then_zone", "then_class", "then_grade", "segment",
		"chance", "seen", "why"}}
	for _, r := range t.Rules() {
		row := append(place(r.AnyZone, "*", r.When), place(r.Same, "same", r.Then)...)
		rows = append(rows, append(row, anyAs(r.Segment, "*"), money.Plain(r.Chance), money.Plain(r.Seen), r.Why))
	}
	return rows
}

// place returns zone, class and grade; star is the word for any zone.
func place(any bool, star string, i damage.Item) []string {
	zone := star
	if !any {
		zone = i.Zone.String()
	}
	return []string{zone, i.Class.Letter(), strconv.Itoa(int(i.Grade))}
}
