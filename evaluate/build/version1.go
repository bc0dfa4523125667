package build

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// A frozen1 is a frozen estimate of format version 1. It is read for good and never
// written: its predictions are what was said, and its shop is kept field by field.
type frozen1 struct {
	Format        string      `json:"format"`
	Version       int         `json:"version"`
	Tool          string      `json:"tool"`
	Build         string      `json:"build"`
	SaleFile      string      `json:"sale_file"`
	Hammer        money.Pence `json:"hammer_pence"`
	Seed          uint64      `json:"seed"`
	Points        int         `json:"points"`
	Kept          LotRecord   `json:"lot"`
	Shop          ShopRecord  `json:"shop"`
	Outlay        money.Pence `json:"outlay_pence"`
	OutlayVAT     money.Pence `json:"outlay_vat_pence"`
	PurchasePrice money.Pence `json:"purchase_price_pence"`
	Predicted     Predicted   `json:"predicted"`
	Walk          WalkRecord  `json:"walk"`
	Digest        string      `json:"digest"`
}

// frozen returns the estimate as the program has it. It fails where the shop cannot be
// computed with.
func (f *frozen1) frozen() (*Frozen, error) {
	workshop, err := f.Shop.shop()
	if err != nil {
		return nil, err
	}
	return &Frozen{
		Format: f.Format, Version: f.Version, Tool: f.Tool, Build: f.Build, SaleFile: f.SaleFile, Hammer: f.Hammer,
		Seed: f.Seed, Points: f.Points, Kept: f.Kept, Outlay: f.Outlay, OutlayVAT: f.OutlayVAT,
		PurchasePrice: f.PurchasePrice,
		Predicted:     f.Predicted, Walk: f.Walk, Digest: f.Digest, workshop: workshop,
	}, nil
}

// digest is that of the file's content, as version 1 has it.
func (f *frozen1) digest() (string, error) {
	bare := *f
	bare.Digest = ""
	return digestOf(&bare)
}

// digestOf returns the SHA-256 of a value as JSON, in hexadecimal.
func digestOf(v any) (string, error) {
	text, err := json.Marshal(v)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// Three is low, mid and high of an amount.
type Three [3]float64

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

func (k *SettingsRecord) settings() shop.Settings {
	return shop.Settings{
		Currency: k.Currency, LabourRate: k.LabourRate, HoursPerDay: k.HoursPerDay, CollectDays: k.CollectDays,
		StripDays: k.StripDays, FinishDays: k.FinishDays,
		LeadSpread: k.LeadSpread.amount(), SellDays: k.SellDays.amount(), HoldingPerDay: k.HoldingPerDay,
		FinanceRate:   k.FinanceRate,
		VATRegistered: k.VATRegistered, VATRate: k.VATRate, SpendVATShare: k.SpendVATShare, SellFixed: k.SellFixed,
		SellPercent: k.SellPercent, SellVAT: k.SellVAT, HoldingVAT: k.HoldingVAT,
		TargetMargin: k.TargetMargin, TargetReturn: k.TargetReturn, LossLimit: k.LossLimit, Cash: k.Cash, BidStep: k.BidStep,
		GuideSpread:  k.GuideSpread.amount(),
		SeverityLink: k.SeverityLink, HiddenLink: k.HiddenLink, SuspectedChance: k.SuspectedChance,
		UncodedStructure: k.UncodedStructure, CostBias: k.CostBias,
		Turnover: k.Turnover, VATThreshold: k.VATThreshold,
	}
}

// shop returns as much of the shop as it was as the lot's figures come from.
func (k *ShopRecord) shop() (*shop.Shop, error) {
	s := &shop.Shop{
		Settings: k.Settings.settings(),
		Segments: []shop.Segment{{Name: k.Segment.Name, Spend: k.Segment.Spend, Hours: k.Segment.Hours,
			ValueSpread: k.Segment.ValueSpread}},
		Categories: []shop.Category{{Name: k.Category.Name, Rebuild: true, Segment: k.Category.Segment,
			Share: k.Category.Share.amount(), Builds: k.Category.Builds, Note: k.Category.Note,
			GuideShare: k.Category.GuideShare}},
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
				return nil, fmt.Errorf("the estimate's extra %q: %w", x.Name, err)
			}
			extra.After = append(extra.After, a)
		}
		s.Extras = append(s.Extras, extra)
	}
	var bands []shop.Band
	for _, b := range k.Fees {
		per, err := shop.ParsePer(b.Per)
		if err != nil {
			return nil, fmt.Errorf("the estimate's fee %q: %w", b.Fee, err)
		}
		bands = append(bands, shop.Band{Site: b.Site, Fee: b.Fee, From: b.From, Amount: b.Amount, Percent: b.Percent,
			VAT: b.VAT, Per: per, FreeDays: b.FreeDays})
	}
	var err error
	if s.Tariff, err = shop.NewTariff(bands, k.Settings.VATRate); err != nil {
		return nil, fmt.Errorf("the estimate's fees: %w", err)
	}
	s.Costs, err = k.book()
	return s, err
}

func (k *ShopRecord) book() (*costs.Table, error) {
	var rows []costs.Row
	for _, r := range k.Book {
		item, any, err := parseItem(r.Item, "*")
		if err != nil {
			return nil, fmt.Errorf("the estimate's cost table: %w", err)
		}
		shape, err := stats.ParseShape(r.Shape)
		if err != nil {
			return nil, fmt.Errorf("the estimate's cost table: %s: %w", r.Item, err)
		}
		row := costs.Row{Item: item, Any: any, Spend: r.Spend.amount(), Hours: r.Hours.amount(), LeadDays: r.LeadDays,
			Builds: r.Builds, Basis: r.Basis}
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
			return nil, fmt.Errorf("the estimate's rule %s -> %s: %w", r.When, r.Then, err)
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
	return item, any, fmt.Errorf("%q is not a zone, class and grade", text)
}
