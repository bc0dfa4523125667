package shop_test

import (
	"testing"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
)

// A site's own fee takes the place of the common one of that name, and of no other; a site without fees of
// its own pays the common ones. 2,000 at 40 miles: 100 and 40 x 0.50 at Mill, 40 x 1.00 elsewhere, and
// 25 to everybody.
func TestOwnFeesTakeThePlaceOfCommonOnes(t *testing.T) {
	tariff, err := shop.NewTariff([]shop.Band{
		{Site: "*", Fee: "carriage", Amount: 100, Per: shop.PerMile},
		{Site: "*", Fee: "papers", Amount: 2500},
		{Site: "Mill", Fee: "premium", Amount: 10000},
		{Site: "Mill", Fee: "carriage", Amount: 50, Per: shop.PerMile},
	}, money.RateOf(0.2))
	if err != nil {
		t.Fatal(err)
	}
	for site, want := range map[string]money.Pence{
		"Mill": 200000 + 10000 + 2000 + 2500, "Quay": 200000 + 4000 + 2500, shop.AnySite: 200000 + 4000 + 2500,
	} {
		p := shop.Purchase{Site: site, Miles: 40}
		total, _, _ := tariff.Sum(200000, p)
		if lines := tariff.Outlay(200000, p); total != want || lines.Total != want {
			t.Errorf("%s: %s, line by line %s, want %s", site, total, lines.Total, want)
		}
	}
}
