package report_test

import (
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/report"
)

// judged are a ranked lot, an unpriced one and one that may not be rebuilt.
func judged(tb testing.TB) []*evaluate.Result {
	tb.Helper()
	code, err := damage.Parse("nose c3 s2?; cabin r2")
	if err != nil {
		tb.Fatal(err)
	}
	lot := func(number string) *evaluate.Lot {
		return &evaluate.Lot{Number: number, Make: "Brantholt", Model: "=Aldra", Year: 2019, Segment: "family",
			Category: "N", Code: code, Value: 940000, Note: "two, keys"}
	}
	beam := damage.Item{Spot: damage.Spot{Zone: damage.Nose, Class: damage.Structural}, Grade: 1}
	ranked := evaluate.Result{
		Lot: lot("1"), Status: bid.Ranked, Guide: 225000, GuideGuessed: true,
		Repair: evaluate.Repair{Mean: 2810.257, SD: 640.5, P10: 2050.1, P50: 2733.99, P80: 3300, P90: 3650.4, P95: 4001.01,
			CILow: 2300.12, CIHigh: 3320.6},
		Hours: evaluate.Spread{Mean: 31.2, P10: 22, P50: 30.4, P90: 41.7}, Days: evaluate.Spread{Mean: 24, P10: 15.5,
			P50: 22.25, P90: 35},
		Resale: evaluate.Spread{Mean: 8100, P10: 7200.3, P50: 8075.2,
			P90: 9050}, Outlay: 270050, HighestBid: 215000, BidLimit: bid.MarginLimit,
		Margin: evaluate.Margin{Mean: 1204.5, SD: 900.1, P10: -4.005, P50: 1250.3, P90: 2300, LossChance: 0.1015625,
			Shortfall: -512.3},
		Hidden: []evaluate.Hidden{{Item: beam, Chance: 0.4512, MeanCost: 310.2}},
		Warnings: []evaluate.Warning{{Kind: "suspected", Text: "nose s2 is suspected, counted at 50%"},
			{Kind: "no-site", Text: "no site"}},
	}
	unpriced := ranked
	unpriced.Lot, unpriced.Status, unpriced.Reason = lot("2"), bid.Unpriced, "no guide price, so no margin"
	unpriced.Guide, unpriced.GuideGuessed, unpriced.Warnings = 0, false, nil
	return []*evaluate.Result{&ranked, &unpriced, {Lot: lot("3"), Status: bid.Excluded, Reason: "for parts only"}}
}

// A row says nothing of the one before it, in whose memory it is made.
func TestStreamRowsStandByThemselves(t *testing.T) {
	for _, asJSON := range []bool{false, true} {
		all := judged(t)
		for _, before := range all {
			for _, r := range all {
				alone, err := report.NewStream(asJSON, true).Append(nil, r)
				if err != nil {
					t.Fatal(err)
				}
				s := report.NewStream(asJSON, true)
				if _, err := s.Append(nil, before); err != nil {
					t.Fatal(err)
				}
				after, err := s.Append(nil, r)
				if err != nil {
					t.Fatal(err)
				}
				if string(after) != string(alone) {
					t.Errorf("JSON %v, lot %s after lot %s:\n%s\nalone:\n%s", asJSON, r.Lot.Number, before.Lot.Number, after, alone)
				}
			}
		}
	}
}

func BenchmarkStreamAppend(b *testing.B) {
	r := judged(b)[0]
	for _, asJSON := range []bool{false, true} {
		b.Run(map[bool]string{false: "csv", true: "json"}[asJSON], func(b *testing.B) {
			s := report.NewStream(asJSON, true)
			var out []byte
			b.ReportAllocs()
			for b.Loop() {
				var err error
				if out, err = s.Append(out[:0], r); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
