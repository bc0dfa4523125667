package shop_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/shop"
)

const (
	segmentsText = "segment,spend,hours,value_spread,s,c,r,m,e,sell\nfamily,1,1,0.08,,,,,,\nprestige,2.8,1.25,0.13,1.8,1.9,,2,2.4,1.4\n"
	agesText     = "from,s,c,r,m,e,hours,note\n0,1.3,1.6,1.3,1.3,1.9,1.1,new\n4,1,1,1,1,1,1,\n12,0.7,0.42,0.65,0.6,0.38,0.77,old\n"
	costsText    = `zone,class,grade,spend_low,spend_mid,spend_high,hours_low,hours_mid,hours_high,lead_days,parts,builds,basis
*,s,1,110,200,390,3,5,9,4,0.9,8,test
*,s,2,220,400,780,9,15,26,6,0.15,6,test
*,c,1,20,40,80,1,2,4,0,,6,test
*,c,2,60,100,180,2,4,8,3,0,6,test
`
)

// folder writes the files of a shop folder, one after the other: name, text.
func folder(t *testing.T, files ...string) string {
	t.Helper()
	dir := t.TempDir()
	for i := 0; i < len(files); i += 2 {
		if err := os.WriteFile(filepath.Join(dir, files[i]), []byte(files[i+1]), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// small is a shop folder of its own, without ages, and the files more, in place of its own.
func small(more ...string) []string {
	return append([]string{
		shop.SegmentsFile, segmentsText, shop.CostsFile, costsText,
		shop.HiddenFile, "when_zone,when_class,when_grade,then_zone,then_class,then_grade,chance,seen\nnose,s,1,nose,s,2,0.1,3\n",
		shop.CategoriesFile, "category,rebuild,low,mid,high,builds\nN,yes,0.1,0.2,0.3,3\n",
		shop.InspectionsFile, "look,price,finds\nvisit,20,0.5\n", shop.FeesFile, "site,fee,amount\nMill,premium,100\n",
		shop.SettingsFile, "labour_rate = 30\n",
	}, more...)
}

// k is segment times age; a blank cell of a class takes spend; the row's spend is
// multiplied by 1 + parts (k - 1) (METHOD.md 5.1 and 5.3), worked out by hand.
func TestMultipliers(t *testing.T) {
	s, problems, _, err := shop.Read(folder(t, small(shop.AgesFile, agesText)...))
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	for age, want := range map[int]int{0: 0, 3: 0, 4: 1, 11: 1, 12: 2, 60: 2} {
		if got := s.Band(age); got != want {
			t.Errorf("a car of %d years is in band %d, want %d", age, got, want)
		}
	}
	m := s.Multipliers(1, 2)
	want := [damage.ClassCount]float64{1.8 * 0.7, 1.9 * 0.42, 2.8 * 0.65, 2 * 0.6, 2.4 * 0.38}
	for c, k := range want {
		if math.Abs(m.Classes[c]-k) > 1e-12 {
			t.Errorf("prestige at 12: %s is multiplied by %v, want %v", damage.Class(c), m.Classes[c], k)
		}
	}
	if math.Abs(m.Hours-1.25*0.77) > 1e-12 {
		t.Errorf("prestige at 12: hours by %v", m.Hours)
	}
	k := 1.8 * 0.7
	for i, want := range []float64{1 + 0.9*(k-1), 1 + 0.15*(k-1), 1.9 * 0.42, 1} {
		if got := s.Scales(1, 2)[i] * s.Segments[1].Spend; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s is multiplied by %v, want %v", s.Costs.Rows()[i].Name(), got, want)
		}
	}
	if s.Scales(0, 1) != nil {
		t.Error("a family car of five years does not cost what the table says")
	}
	none := &shop.Category{}
	if shop.SellTimes(none, &s.Segments[1]) != 1.4 || shop.SellTimes(none, &s.Segments[0]) != 1 {
		t.Error("sell is not what the file says, or blank is not 1")
	}
}

// Without a file of ages a folder has none, whatever the starter has.
func TestNoAges(t *testing.T) {
	s, problems, _, err := shop.Read(folder(t, small()...))
	if err != nil || len(problems) > 0 || len(s.Ages) > 0 {
		t.Fatal(err, problems, s.Ages)
	}
}

func TestFaultsOfCars(t *testing.T) {
	for _, tt := range []struct{ file, text, want string }{
		{shop.AgesFile, "from,s,c,r,m,e,hours\n2,1,1,1,1,1,1\n",
			"ages.csv:2: from: 2: the first band begins at 0, so that every age has one; write 0"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n0,1,1,1,1,1,1\n8,1,1,1,1,1,1\n8,1,1,1,1,1,1\n",
			"ages.csv:4: from: 8: the band before begins at 8"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n0,1,1,1,1,30,1\n",
			"ages.csv:2: e: 30 times the cost table is more than any car costs; did you mean 0.3?"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n0,1,1,1,0.01,1,1\n",
			"ages.csv:2: m: 0.01 times the cost table makes the work free"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n0,1,1,1,1,9,1\n",
			"ages.csv:2: e: 9 times the 2.4 of prestige is 21.6; a multiplier must stay from 0.05 to 20"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n0,1,1,1,1,,1\n", "ages.csv:2: e: is blank"},
		{shop.AgesFile, "from,s,c,r,m,e,hours\n", "remove the file if age changes nothing"},
		{shop.SegmentsFile, "segment,spend,hours,value_spread,e\nfamily,1,1,0.08,0.01\n",
			"segments.csv:2: e: 0.01 times the cost table makes the work free"},
		{shop.SegmentsFile, "segment,spend,hours,value_spread,sell\nfamily,1,1,0.08,-1\n", "segments.csv:2: sell:"},
		{shop.CostsFile, strings.Replace(costsText, "4,0.9,8", "4,90,8", 1), "costs.csv:2: parts:"},
		{shop.SettingsFile, "coding_up = 0.6\ncoding_down = 0.4\n",
			"shop.toml:1: coding_up: structural: coding_up 0.6 and coding_down 0.4 add up to 1 or more"},
		{shop.SettingsFile, "coding_up = {s = 0.1, x = 0.1}\n", `"x" is not a class of damage`},
		{shop.SettingsFile, "coding_down = {s = 1.2}\n", "shop.toml:1: coding_down: 1.2 is not a share between 0 and 1"},
		{shop.SettingsFile, "miles_a_year = 0\n", "shop.toml:1: miles_a_year: 0 is not above 0"},
		{shop.SettingsFile, "[[extra]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh = 1\nafter = [\"s\"]\nscale = \"z\"\n",
			`shop.toml:7: scale: "z" is not a class of damage; write one of s, c, r, m, e`},
		{shop.SettingsFile, "[[extra]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh = 1\nage_from = -1\n",
			"shop.toml:6: age_from: -1"},
		{shop.SettingsFile, "[[extra]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh = 1\nodometer_from = -1\n",
			"shop.toml:6: odometer_from: -1"},
		{shop.SettingsFile, "[[extra]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh = 1\nafter = [\"s\"]\nyear_from = 20\n",
			"shop.toml:7: year_from: 20"},
	} {
		files := []string{tt.file, tt.text}
		if tt.file == shop.AgesFile {
			files = append(files, shop.SegmentsFile, segmentsText)
		}
		_, problems, _, err := shop.Read(folder(t, files...))
		if err != nil {
			t.Fatal(err)
		}
		var all []string
		for _, p := range problems {
			all = append(all, p.Error())
		}
		if text := strings.Join(all, "\n"); !strings.Contains(text, tt.want) {
			t.Errorf("%s of %q:\n%s\nwant %q", tt.file, tt.text, text, tt.want)
		}
	}
}

// A worse grade that costs less on some car is found: with all of a small job and nothing of
// the next following the car, the order turns where parts are dear.
func TestReversed(t *testing.T) {
	s, problems, _, err := shop.Read(folder(t,
		small(shop.SegmentsFile, "segment,spend,hours,value_spread,c\nfamily,1,0.1,0.08,\nprestige,1,0.1,0.1,6\n")...))
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	want := "* c2 costs less than * c1 on prestige: 112 against 246, mid spend and hours; look at parts and the " +
		"multipliers"
	if got := s.Reversed(); len(got) != 1 || got[0] != want {
		t.Errorf("%q, want %q", got, want)
	}
}
