package build

import (
	"fmt"
	"maps"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
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
	PartsValue  *Three            `json:"parts_value,omitempty"`
	Note        string            `json:"note"`
	Cells       map[string]string `json:"cells"`
	File        string            `json:"file"`
	Sheet       string            `json:"sheet"`
	Line        int               `json:"line"`
}

func keepLot(l *evaluate.Lot) LotRecord {
	var parts *Three
	if p := l.PartsValue; p != nil {
		parts = &Three{p.Low, p.Mid, p.High}
	}
	return LotRecord{
		Lot: l.Number, Make: l.Make, Model: l.Model, Year: l.Year, Odometer: l.Odometer, Segment: l.Segment, Category: l.Category,
		Damage: l.Code.String(), Description: l.Description, Value: l.Value, Guide: l.Guide, Site: l.Site, Distance: l.Miles, Plus: l.Plus,
		CollectDays: l.CollectDays, CollectBy: l.CollectBy, FreeDays: l.FreeDays, PartsValue: parts, Note: l.Note, Cells: maps.Clone(l.Cells),
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
	var parts *stats.Amount
	if k.PartsValue != nil {
		parts = new(k.PartsValue.amount())
	}
	return &evaluate.Lot{
		Number: k.Lot, Make: k.Make, Model: k.Model, Year: k.Year, Odometer: k.Odometer, Segment: k.Segment, Category: k.Category,
		Code: code, Description: k.Description, Value: k.Value, Guide: k.Guide, Site: k.Site, Miles: k.Distance, Plus: k.Plus,
		CollectDays: k.CollectDays, CollectBy: k.CollectBy, FreeDays: k.FreeDays, PartsValue: parts, Note: k.Note, Cells: maps.Clone(k.Cells),
		File: k.File, Sheet: k.Sheet, Line: k.Line,
	}, nil
}
