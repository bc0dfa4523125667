package build

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A LotRecord is a lot as it was read.
type LotRecord struct {
	Lot         string            `json:"lot"`
	Make        string            `json:"make"`
	Model       string            `json:"model"`
	Year        int               `json:"year"`
	Odometer    int               `json:"odometer"`
	Segment     string            `json:"segment"`
	Category    string            `json:"category"`
	Damage      string            `json:"damage"`
	Description string            `json:"description"`
	Value       money.Pence       `json:"value_pence"`
	Guide       money.Pence       `json:"guide_pence"`
	Site        string            `json:"site"`
	Distance    float64           `json:"distance"`
	Plus        bool              `json:"vat_plus"`
	CollectDays *float64          `json:"collect_days"`
	CollectBy   string            `json:"collect_by"`
	FreeDays    *float64          `json:"free_days"`
	Note        string            `json:"note"`
	Cells       map[string]string `json:"cells"`
	File        string            `json:"file"`
	Sheet       string            `json:"sheet"`
	Line        int               `json:"line"`
}

func keepLot(l *evaluate.Lot) LotRecord {
	return LotRecord{
		Lot: l.Number, Make: l.Make, Model: l.Model, Year: l.Year, Odometer: l.Odometer, Segment: l.Segment, Category: l.Category,
		Damage: l.Code.String(), Description: l.Description, Value: l.Value, Guide: l.Guide, Site: l.Site, Distance: l.Miles, Plus: l.Plus,
		CollectDays: l.CollectDays, CollectBy: l.CollectBy, FreeDays: l.FreeDays, Note: l.Note, Cells: maps.Clone(l.Cells),
		File: l.File, Sheet: l.Sheet, Line: l.Line,
	}
}

// Lot returns the lot as it was read.
func (f *Frozen) Lot() (*evaluate.Lot, error) {
	k := &f.Kept
	code, err := damage.Parse(k.Damage)
	if err != nil {
		return nil, fmt.Errorf("the frozen damage: %w", err)
	}
	return &evaluate.Lot{
		Number: k.Lot, Make: k.Make, Model: k.Model, Year: k.Year, Odometer: k.Odometer, Segment: k.Segment, Category: k.Category,
		Code: code, Description: k.Description, Value: k.Value, Guide: k.Guide, Site: k.Site, Miles: k.Distance, Plus: k.Plus,
		CollectDays: k.CollectDays, CollectBy: k.CollectBy, FreeDays: k.FreeDays, Note: k.Note, Cells: maps.Clone(k.Cells),
		File: k.File, Sheet: k.Sheet, Line: k.Line,
	}, nil
}

// Three is low, mid and high of an amount.
type Three [3]float64

func three(a stats.Amount) Three { return Three{a.Low, a.Mid, a.High} }

func (t Three) amount() stats.Amount { return stats.Amount{Low: t[0], Mid: t[1], High: t[2]} }

// A ShopRecord is what of a shop the figures of one lot come from: its settings;
// its fixed items and extras, all of them, as each has worlds of its own by its
// place; the lot's segment, category and fees; the book's rows; and the rules that
// anything wrong with the car could fire.
type ShopRecord struct {
	Settings SettingsRecord `json:"settings"`
	Segment  SegmentRecord  `json:"segment"`
	Category CategoryRecord `json:"category"`
	Fixed    []ChargeRecord `json:"fixed"`
	Extras   []ExtraRecord  `json:"extras"`
	Fees     []FeeRecord    `json:"fees"`
	Book     []RowRecord    `json:"book"`
	Hidden   []RuleRecord   `json:"hidden"`
	Sources  []SourceRecord `json:"sources"`
}

// A SettingsRecord is the numbers of the shop, by their names in shop.toml.
type SettingsRecord struct {
	Currency         string      `json:"currency"`
	LabourRate       float64     `json:"labour_rate"`
	HoursPerDay      float64     `json:"hours_per_day"`
	CollectDays      float64     `json:"collect_days"`
	StripDays        float64     `json:"strip_days"`
	FinishDays       float64     `json:"finish_days"`
	LeadSpread       Three       `json:"lead_spread"`
	SellDays         Three       `json:"sell_days"`
	HoldingPerDay    float64     `json:"holding_per_day"`
	FinanceRate      float64     `json:"finance_rate"`
	VATRegistered    bool        `json:"vat_registered"`
	VATRate          money.Rate  `json:"vat_rate_millionths"`
	SpendVATShare    float64     `json:"spend_vat_share"`
	SellFixed        float64     `json:"sell_fixed"`
	SellPercent      float64     `json:"sell_percent"`
	SellVAT          bool        `json:"sell_vat"`
	HoldingVAT       bool        `json:"holding_vat"`
	TargetMargin     float64     `json:"target_margin"`
	TargetReturn     float64     `json:"target_return"`
	LossLimit        float64     `json:"loss_limit"`
	Cash             float64     `json:"cash"`
	BidStep          money.Pence `json:"bid_step_pence"`
	GuideSpread      Three       `json:"guide_spread"`
	SeverityLink     float64     `json:"severity_link"`
	HiddenLink       float64     `json:"hidden_link"`
	SuspectedChance  float64     `json:"suspected_chance"`
	UncodedStructure float64     `json:"uncoded_structure"`
	CostBias         float64     `json:"book_bias"`
	Turnover         float64     `json:"turnover"`
	VATThreshold     float64     `json:"vat_threshold"`
}

// A SegmentRecord is the lot's row of segments.csv.
type SegmentRecord struct {
	Name        string  `json:"segment"`
	Spend       float64 `json:"spend"`
	Hours       float64 `json:"hours"`
	ValueSpread float64 `json:"value_spread"`
}

// A CategoryRecord is the lot's row of categories.csv.
type CategoryRecord struct {
	Name       string  `json:"category"`
	Segment    string  `json:"segment"`
	Share      Three   `json:"share"`
	Builds     float64 `json:"builds"`
	Note       string  `json:"note"`
	GuideShare float64 `json:"guide_share"`
}

// A ChargeRecord is a fixed item.
type ChargeRecord struct {
	Name   string `json:"name"`
	Amount Three  `json:"amount"`
	VAT    bool   `json:"vat"`
}

// An ExtraRecord is an extra, charged for this car or not.
type ExtraRecord struct {
	ChargeRecord
	Column        string   `json:"column"`
	Value         string   `json:"value"`
	UnknownChance float64  `json:"unknown_chance"`
	After         []string `json:"after"`
}

// A FeeRecord is a band of a fee.
type FeeRecord struct {
	Site     string      `json:"site"`
	Fee      string      `json:"fee"`
	From     money.Pence `json:"from_pence"`
	Amount   money.Pence `json:"amount_pence"`
	Percent  money.Rate  `json:"percent_millionths"`
	VAT      bool        `json:"vat"`
	Per      string      `json:"per"`
	FreeDays float64     `json:"free_days"`
}

// A RowRecord is a row of the book; its item is written "nose s2", "* s2" for any
// zone.
type RowRecord struct {
	Item     string  `json:"item"`
	Spend    Three   `json:"spend"`
	Hours    Three   `json:"hours"`
	LeadDays float64 `json:"lead_days"`
	Builds   float64 `json:"builds"`
	Shape    string  `json:"shape,omitempty"`
	Basis    string  `json:"basis"`
}

// A RuleRecord is a hidden rule.
type RuleRecord struct {
	When    string  `json:"when"`
	Then    string  `json:"then"`
	Segment string  `json:"segment,omitempty"`
	Chance  float64 `json:"chance"`
	Seen    float64 `json:"seen"`
	Why     string  `json:"why"`
}

// A SourceRecord says which file served, the shop's own or the starter's.
type SourceRecord struct {
	File    string `json:"file"`
	BuiltIn bool   `json:"built_in"`
}

func keepShop(s *shop.Shop, p *evaluate.Prospect) ShopRecord {
	k := ShopRecord{
		Settings: keepSettings(&s.Settings),
		Segment:  SegmentRecord{p.Segment.Name, p.Segment.Spend, p.Segment.Hours, p.Segment.ValueSpread},
		Category: CategoryRecord{p.Category.Name, p.Category.Segment, three(p.Category.Share), p.Category.Builds, p.Category.Note, p.Category.GuideShare},
	}
	for _, c := range s.Fixed {
		k.Fixed = append(k.Fixed, ChargeRecord{c.Name, three(c.Amount), c.VAT})
	}
	for _, x := range s.Extras {
		r := ExtraRecord{ChargeRecord: ChargeRecord{x.Name, three(x.Amount), x.VAT}, Column: x.Column, Value: x.Value, UnknownChance: x.UnknownChance}
		for _, a := range x.After {
			text := fmt.Sprintf("%s%d", a.Class.Letter(), a.Grade)
			if !a.AnyZone {
				text = a.Zone.String() + " " + text
			}
			r.After = append(r.After, text)
		}
		k.Extras = append(k.Extras, r)
	}
	for _, b := range p.Deal.Bands() {
		k.Fees = append(k.Fees, FeeRecord{b.Site, b.Fee, b.From, b.Amount, b.Percent, b.VAT, b.Per.String(), b.FreeDays})
	}
	for _, r := range s.Costs.Rows() {
		k.Book = append(k.Book, RowRecord{r.Name(), three(r.Spend), three(r.Hours), r.LeadDays, r.Builds, r.Spend.Shape.String(), r.Basis})
	}
	for _, r := range s.Costs.Rules() {
		if fires(r, p) {
			when, then, _ := strings.Cut(strings.TrimSuffix(r.Name(), " ("+r.Segment+")"), " -> ")
			k.Hidden = append(k.Hidden, RuleRecord{when, then, r.Segment, r.Chance, r.Seen, r.Why})
		}
	}
	for _, x := range s.Sources {
		k.Sources = append(k.Sources, SourceRecord{x.File, x.BuiltIn})
	}
	return k
}

// fires reports whether anything that may be wrong with the car could fire the
// rule.
func fires(r costs.Rule, p *evaluate.Prospect) bool {
	return (r.Segment == "" || strings.EqualFold(r.Segment, p.Segment.Name)) &&
		slices.ContainsFunc(p.Case, func(c costs.Candidate) bool {
			return c.Class == r.When.Class && c.Grade >= r.When.Grade && (r.AnyZone || c.Zone == r.When.Zone)
		})
}

func keepSettings(s *shop.Settings) SettingsRecord {
	return SettingsRecord{
		Currency: s.Currency, LabourRate: s.LabourRate, HoursPerDay: s.HoursPerDay, CollectDays: s.CollectDays, StripDays: s.StripDays, FinishDays: s.FinishDays,
		LeadSpread: three(s.LeadSpread), SellDays: three(s.SellDays), HoldingPerDay: s.HoldingPerDay, FinanceRate: s.FinanceRate,
		VATRegistered: s.VATRegistered, VATRate: s.VATRate, SpendVATShare: s.SpendVATShare, SellFixed: s.SellFixed, SellPercent: s.SellPercent, SellVAT: s.SellVAT, HoldingVAT: s.HoldingVAT,
		TargetMargin: s.TargetMargin, TargetReturn: s.TargetReturn, LossLimit: s.LossLimit, Cash: s.Cash, BidStep: s.BidStep, GuideSpread: three(s.GuideSpread),
		SeverityLink: s.SeverityLink, HiddenLink: s.HiddenLink, SuspectedChance: s.SuspectedChance, UncodedStructure: s.UncodedStructure, CostBias: s.CostBias,
		Turnover: s.Turnover, VATThreshold: s.VATThreshold,
	}
}

func (k *SettingsRecord) settings() shop.Settings {
	return shop.Settings{
		Currency: k.Currency, LabourRate: k.LabourRate, HoursPerDay: k.HoursPerDay, CollectDays: k.CollectDays, StripDays: k.StripDays, FinishDays: k.FinishDays,
		LeadSpread: k.LeadSpread.amount(), SellDays: k.SellDays.amount(), HoldingPerDay: k.HoldingPerDay, FinanceRate: k.FinanceRate,
		VATRegistered: k.VATRegistered, VATRate: k.VATRate, SpendVATShare: k.SpendVATShare, SellFixed: k.SellFixed, SellPercent: k.SellPercent, SellVAT: k.SellVAT, HoldingVAT: k.HoldingVAT,
		TargetMargin: k.TargetMargin, TargetReturn: k.TargetReturn, LossLimit: k.LossLimit, Cash: k.Cash, BidStep: k.BidStep, GuideSpread: k.GuideSpread.amount(),
		SeverityLink: k.SeverityLink, HiddenLink: k.HiddenLink, SuspectedChance: k.SuspectedChance, UncodedStructure: k.UncodedStructure, CostBias: k.CostBias,
		Turnover: k.Turnover, VATThreshold: k.VATThreshold,
	}
}

// Shop returns as much of the shop as it was as the lot's figures come from.
func (f *Frozen) Shop() (*shop.Shop, error) {
	k := &f.KeptShop
	s := &shop.Shop{
		Settings:   k.Settings.settings(),
		Segments:   []shop.Segment{{Name: k.Segment.Name, Spend: k.Segment.Spend, Hours: k.Segment.Hours, ValueSpread: k.Segment.ValueSpread}},
		Categories: []shop.Category{{Name: k.Category.Name, Rebuild: true, Segment: k.Category.Segment, Share: k.Category.Share.amount(), Builds: k.Category.Builds, Note: k.Category.Note, GuideShare: k.Category.GuideShare}},
	}
	for _, x := range k.Sources {
		s.Sources = append(s.Sources, shop.Source{File: x.File, BuiltIn: x.BuiltIn})
	}
	charge := func(c ChargeRecord) shop.Charge {
		return shop.Charge{Name: c.Name, Amount: c.Amount.amount(), VAT: c.VAT}
	}
	for _, c := range k.Fixed {
		s.Fixed = append(s.Fixed, charge(c))
	}
	for _, x := range k.Extras {
		extra := shop.Extra{Charge: charge(x.ChargeRecord), Column: x.Column, Value: x.Value, UnknownChance: x.UnknownChance}
		for _, text := range x.After {
			a, err := shop.ParseAfter(text)
			if err != nil {
				return nil, fmt.Errorf("the frozen extra %q: %w", x.Name, err)
			}
			extra.After = append(extra.After, a)
		}
		s.Extras = append(s.Extras, extra)
	}
	var bands []shop.Band
	for _, b := range k.Fees {
		per, err := shop.ParsePer(b.Per)
		if err != nil {
			return nil, fmt.Errorf("the frozen fee %q: %w", b.Fee, err)
		}
		bands = append(bands, shop.Band{Site: b.Site, Fee: b.Fee, From: b.From, Amount: b.Amount, Percent: b.Percent, VAT: b.VAT, Per: per, FreeDays: b.FreeDays})
	}
	var err error
	if s.Tariff, err = shop.NewTariff(bands, k.Settings.VATRate); err != nil {
		return nil, fmt.Errorf("the frozen fees: %w", err)
	}
	s.Costs, err = k.book()
	return s, err
}

func (k *ShopRecord) book() (*costs.Table, error) {
	var rows []costs.Row
	for _, r := range k.Book {
		item, any, err := parseItem(r.Item, "*")
		if err != nil {
			return nil, fmt.Errorf("the frozen book: %w", err)
		}
		shape, err := stats.ParseShape(r.Shape)
		if err != nil {
			return nil, fmt.Errorf("the frozen book: %s: %w", r.Item, err)
		}
		row := costs.Row{Item: item, Any: any, Spend: r.Spend.amount(), Hours: r.Hours.amount(), LeadDays: r.LeadDays, Builds: r.Builds, Basis: r.Basis}
		row.Spend.Shape, row.Hours.Shape = shape, shape
		rows = append(rows, row)
	}
	var rules []costs.Rule
	for _, r := range k.Hidden {
		rule := costs.Rule{Segment: r.Segment, Chance: r.Chance, Seen: r.Seen, Why: r.Why}
		var err error
		if rule.When, rule.AnyZone, err = parseItem(r.When, "*"); err == nil {
			rule.Then, rule.Same, err = parseItem(r.Then, "same")
		}
		if err != nil {
			return nil, fmt.Errorf("the frozen rule %s -> %s: %w", r.When, r.Then, err)
		}
		rules = append(rules, rule)
	}
	return costs.New(rows, rules)
}

// parseItem reads "nose s2"; star stands in for any zone.
func parseItem(text, star string) (item damage.Item, any bool, err error) {
	zone, mark, ok := strings.Cut(text, " ")
	if ok && len(mark) == 2 {
		if any = zone == star; !any {
			if item.Zone, err = damage.ParseZone(zone); err != nil {
				return item, any, err
			}
		}
		if item.Class, err = damage.ParseClass(mark[:1]); err != nil {
			return item, any, err
		}
		if item.Grade = damage.Grade(mark[1] - '0'); item.Grade.Valid() {
			return item, any, nil
		}
	}
	return item, any, fmt.Errorf("%q is no zone, class and grade", text)
}
