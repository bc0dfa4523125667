package shop_test

import (
	"io/fs"
	"testing"
	"wreckoner/damage/costs"

	"wreckoner/evaluate/shop"

	"wreckoner/evaluate/tabular"
)

// printable fails where a problem would steer the terminal.
func printable(t *testing.T, problems []tabular.Problem) {
	t.Helper()
	for _, p := range problems {
		if text := p.Error(); text != tabular.Sanitise(text) || text == "" {
			t.Fatalf("problem %q", text)
		}
	}
}

// Whatever shop.toml holds: no panic, and faults that can be printed.
func FuzzSettings(f *testing.F) {
	starter, err := fs.ReadFile(costs.Starter(), shop.SettingsFile)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(starter)
	for _, seed := range []string{
		"labour_rate = nan", "loss_limit = 15", "lead_spread = [1, 2]", "lead_spread = 3", "[[fixed]]\nname = \"x\"\nlow " +
			"= 1\nmid = 2\nhigh = 9",
		"[[extra]]\nafter = [\"s\", \"m2\"]\nlow=1\nmid=1\nhigh=1\nname=\"a\"", "[fixed]\nx=1", "a.b.c = 1",
		"vat_rate = 1e400", "bid_step = 0.0000001", "currency = \"\\u001b\"",
		"\xff\xfea\x00", "labour_rate = 1\nlabour_rate = 2", "cash = -inf", "vat_rate = 9223372036854775807",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		problems, err := shop.CheckSettings(string(text))
		if err != nil {
			t.Fatal(err)
		}
		printable(t, problems)
	})
}
