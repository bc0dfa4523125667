package build

import (
	"fmt"
	"maps"
	"strings"

	"wreckoner/damage"
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
	SaleYear    int               `json:"sale_year,omitempty"`
	Age         *int              `json:"age,omitempty"`
	Multipliers *TimesRecord      `json:"multipliers,omitempty"`
	CodedFrom   string            `json:"coded_from,omitempty"`
	Quotes      string            `json:"quotes,omitempty"`
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
	PartsValue  *Three            `json:"parts_value,omitempty"`
	Note        string            `json:"note"`
	Cells       map[string]string `json:"cells"`
	File        string            `json:"file"`
	Sheet       string            `json:"sheet"`
	Line        int               `json:"line"`
}

// A TimesRecord is what the cost table is multiplied by on the car.
type TimesRecord struct {
	S     float64 `json:"s"`
	C     float64 `json:"c"`
	R     float64 `json:"r"`
	M     float64 `json:"m"`
	E     float64 `json:"e"`
	Hours float64 `json:"hours"`
}

// keepAge keeps how old the car is and what the cost table is multiplied by, where the shop
// goes by classes or ages.
func (k *LotRecord) keepAge(l *evaluate.Lot, p *evaluate.ResolvedLot, s *shop.Shop) {
	x := p.Priced(s)
	if x == nil {
		return
	}
	if x.Aged {
		k.SaleYear, k.Age = l.SaleYear, &x.Age
	}
	m := x.Classes
	k.Multipliers = &TimesRecord{m[0], m[1], m[2], m[3], m[4], x.Hours}
}

func keepLot(l *evaluate.Lot) LotRecord {
	var quotes []string
	for _, q := range l.Quotes {
		quotes = append(quotes, q.String())
	}
	var parts *Three
	if p := l.PartsValue; p != nil {
		parts = &Three{p.Low, p.Mid, p.High}
	}
	return LotRecord{
		CodedFrom: string(l.CodedFrom), Quotes: strings.Join(quotes, "; "),
		Lot: l.Number, Make: l.Make, Model: l.Model, Year: l.Year, Odometer: l.Odometer, Segment: l.Segment,
		Category: l.Category, Damage: l.Code.String(), Description: l.Description, Value: l.Value, Guide: l.Guide,
		Site: l.Site, Distance: l.Miles, Plus: l.Plus,
		CollectDays: l.CollectDays, CollectBy: l.CollectBy, FreeDays: l.FreeDays, PartsValue: parts, Note: l.Note,
		Cells: maps.Clone(l.Cells),
		File:  l.File, Sheet: l.Sheet, Line: l.Line,
	}
}

// Lot returns the lot as it was read; where there was evidence, with the value that it made
// of it.
func (f *Frozen) Lot() (*evaluate.Lot, error) {
	k := &f.Kept
	code, err := damage.Parse(k.Damage)
	if err != nil {
		return nil, fmt.Errorf("the damage in the estimate: %w", err)
	}
	quotes, err := evaluate.ParseQuotes(k.Quotes, code)
	if err != nil {
		return nil, fmt.Errorf("the quotes in the estimate: %w", err)
	}
	var parts *stats.Amount
	if k.PartsValue != nil {
		parts = new(k.PartsValue.amount())
	}
	lot := &evaluate.Lot{
		SaleYear: k.SaleYear, CodedFrom: evaluate.Coded(k.CodedFrom), Quotes: quotes,
		Number: k.Lot, Make: k.Make, Model: k.Model, Year: k.Year, Odometer: k.Odometer, Segment: k.Segment,
		Category: k.Category, Code: code, Description: k.Description, Value: k.Value, Guide: k.Guide,
		Site: k.Site, Miles: k.Distance, Plus: k.Plus,
		CollectDays: k.CollectDays, CollectBy: k.CollectBy, FreeDays: k.FreeDays, PartsValue: parts, Note: k.Note,
		Cells: maps.Clone(k.Cells),
		File:  k.File, Sheet: k.Sheet, Line: k.Line,
	}
	if e := f.Evidence; e != nil {
		lot.Value, lot.SaleDate, lot.Keys, lot.Starts = e.Value, e.SaleDate, e.Keys, e.Starts
	}
	return lot, nil
}
