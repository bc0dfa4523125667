package plan

import "testing"

// A sale of 500 lots; it is to take less than a second of processor time.
func BenchmarkFiveHundredLots(b *testing.B) {
	lots := sampleSale(b, 1)
	var many []Lot
	for len(many) < 500 {
		many = append(many, lots...)
	}
	for b.Loop() {
		mustPlan(b, many[:500], Resources{Bays: 4, Cash: 25000}, nil, sampleSettings()).Work()
	}
}
