package shop_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wreckoner/evaluate/shop"
)

// What days, the fading price and cars that need not be finished cannot be has its line and
// its remedy.
func TestFaultsOfDaysAndStopping(t *testing.T) {
	for _, tt := range []struct{ file, text, want string }{
		{shop.SettingsFile, "cars_at_once = 0.5\n",
			"shop.toml:1: cars_at_once: 0.5 is out of range; write a number from 1 to 100"},
		{shop.SettingsFile, "\nwork_days = 8\n", "shop.toml:2: work_days: 8 is out of range; write a number from 1 to 7"},
		{shop.SettingsFile, "work_days = 0\n", "shop.toml:1: work_days: 0 is out of range; write a number from 1 to 7"},
		{shop.SettingsFile, "fade = 1.5\n", "shop.toml:1: fade: 1.5 is not a share between 0 and 1; did you mean 0.015?"},
		{shop.SettingsFile, "fade = -0.01\n", "shop.toml:1: fade: -0.01 is not a share between 0 and 1"},
		{shop.SettingsFile, "strip_error = 2\n",
			"shop.toml:1: strip_error: 2 is not a share between 0 and 1; did you mean 0.02?"},
		{shop.SettingsFile, "strip_hours = -1\n",
			"shop.toml:1: strip_hours: -1 is out of range; write a number from 0 to 10000"},
		{shop.SettingsFile, "holding_for_sale = -5\n", "shop.toml:1: holding_for_sale: -5 is too low; write a number from 0"},
		{shop.SettingsFile, "visit = -60\n", "shop.toml:1: visit: -60 is out of range; write a number from 0 to 100000"},
		{shop.SettingsFile, "sell_on = [30, 50, 70]\n",
			"shop.toml:1: sell_on: 50 is not a share between 0 and 1; did you mean 0.5?; write low, mid and high as shares " +
				"of the hammer price, such as [0.3, 0.5, 0.7]"},
		{shop.SettingsFile, "[[fixed]]\nname = \"comebacks\"\nlow = 15\nmid = 70\nhigh = 380\nwhen = \"later\"\n",
			`shop.toml:6: when: "later" is not when "comebacks" is paid; write "after sale", or leave it out if it is paid before`},
		{shop.CategoriesFile, "category,rebuild,low,mid,high,builds,sell\nN,yes,0.1,0.2,0.3,3,0\n",
			"categories.csv:2: sell: 0 times the days to sell is out of range; write a number from 0.05 to 20, 1 to leave " +
				"sell_days as it is"},
		{shop.CategoriesFile, "category,rebuild,low,mid,high,builds,sell\nN,yes,0.1,0.2,0.3,3,slow\n",
			`categories.csv:2: sell: "slow" is not a number`},
		{shop.InspectionsFile, "look,price,finds,visit\nramp,30,0.5,perhaps\n", `inspections.csv:2: visit: "perhaps"`},
	} {
		folder := t.TempDir()
		if err := os.WriteFile(filepath.Join(folder, tt.file), []byte(tt.text), 0o644); err != nil {
			t.Fatal(err)
		}
		_, problems, _, err := shop.Read(folder)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, p := range problems {
			found = found || strings.HasPrefix(strings.TrimPrefix(p.Error(), folder+"/"), tt.want)
		}
		if !found {
			t.Errorf("%q: faults %v, want %q", tt.text, problems, tt.want)
		}
	}
}
