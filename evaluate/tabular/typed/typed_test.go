package typed_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular/typed"
)

// How people write amounts: common practice, no source. An error says what could be meant.
func TestParseAmount(t *testing.T) {
	for _, tt := range []struct {
		text  string
		pence money.Pence
		flags string // v plus VAT, i VAT within, n none, r range
		fails string
	}{
		{"1250", 125000, "", ""}, {"£1,250.50", 125050, "", ""}, {"2.1k", 210000, "", ""}, {"12K", 1200000, "",
			""}, {"£ 2,100 + VAT", 210000, "v", ""},
		{"2100+vat", 210000, "v", ""}, {"2,100 plus VAT", 210000, "v", ""}, {"2400-2800", 260000, "r",
			""}, {"£2,000 – £2,400", 220000, "r", ""},
		{"3 to 4k", 350000, "r", ""}, {"3k-4k", 350000, "r", ""}, {"POA", 0, "n", ""}, {"p.o.a.", 0, "n", ""}, {"TBC", 0,
			"n", ""}, {"-", 0, "n", ""}, {"No reserve", 0, "n", ""},
		{"15-20k", 1750000, "r", ""}, {"15-20", 1750, "r", ""}, {"9-10k", 950000, "r", ""}, {"0.5-1k", 75000, "r", ""},
		{"1.5-2k", 175000, "r", ""}, {"900-1.2k", 105000, "r", ""}, {"1000-2k", 150000, "r", ""},
		{"8k-9500", 875000, "r", ""},
		{"1,250/1,500", 137500, "r", ""}, {"£900/£950", 92500, "r", ""}, {"22/2400", 0, "", "is not an amount"},
		{"12/13", 0, "", "is not an amount"}, {"15-12k", 0, "", "does not rise"}, {"120-1.2k", 66000, "r", ""},
		{"2k-2k", 0, "", "does not rise"},
		{"2,100 inc VAT", 210000, "i", ""}, {"£126.72 (inc vat)", 12672, "i", ""}, {"2.1k incl. VAT", 210000, "i", ""},
		{"2,100 (+ VAT)", 210000, "v", ""}, {"2-3k plus VAT", 250000, "vr", ""},
		{"(45.00)", -4500, "", ""}, {"45 CR", -4500, "", ""}, {"-45", -4500, "", ""}, {"16 000", 1600000, "", ""}, {"16 000",
			1600000, "", ""}, {"1200 pounds", 120000, "", ""}, {"GBP 1,200", 120000, "", ""}, {"1200£", 120000, "", ""},
		{"12OO", 0, "", `"12OO" is not an amount; write 1200 or 1,200.00`}, {"1.600,00", 0, "",
			"has a point before its comma"}, {"16,00", 0, "", "could be 16.00 or 1600"},
		{"€700", 0, "", "is in €"}, {"c. 16000", 0, "", "is not an amount"}, {"12750 ono", 0, "",
			"is not an amount"}, {"2800-2400", 0, "", "does not rise"},
		{"1.2345k", 0, "", "in thousands"}, {"99999999999999", 0, "", "more than any car costs"}, {"(-45)", 0, "",
			"two signs for money back"}, {"1 20", 0, "", "is not an amount"}, {"", 0, "", "is not an amount"},
	} {
		a, err := typed.ParseAmount(tt.text, "£")
		if tt.fails != "" {
			if err == nil || !strings.Contains(err.Error(), tt.fails) {
				t.Errorf("%q: %v, %v; want %q", tt.text, a, err, tt.fails)
			}
			continue
		}
		flags := ""
		for _, f := range []struct {
			is   bool
			name string
		}{{a.PlusVAT, "v"}, {a.WithVAT, "i"}, {a.None, "n"}, {a.Range(), "r"}} {
			if f.is {
				flags += f.name
			}
		}
		if err != nil || a.Pence != tt.pence || flags != tt.flags {
			t.Errorf("%q: %v %q, %v; want %v %q", tt.text, a.Pence, flags, err, tt.pence, tt.flags)
		}
	}
}

// A mile is 1.609344 km (international yard and pound agreement, 1959): 160.9344 km are 100 miles.
func TestParseDistance(t *testing.T) {
	for _, tt := range []struct {
		text  string
		km    bool
		miles int
		none  bool
	}{
		{"48210", false, 48210, false}, {"48,210 miles", false, 48210, false}, {"48k", false, 48000, false}, {"48.2K", false,
			48200, false}, {"approx 41000", false, 41000, false},
		{"160,934 km", false, 100000, false}, {"160934", true, 100000, false}, {"100,000 miles", true, 100000,
			false}, {"n/k", false, 0, true}, {"48 210 (warranted)", false, 48210, false},
	} {
		d, err := typed.ParseDistance(tt.text, tt.km)
		if err != nil || d.Miles != tt.miles || d.None != tt.none {
			t.Errorf("%q: %+v, %v", tt.text, d, err)
		}
	}
	for _, text := range []string{"", "seventy thousand", "48,21", "48210?", "12 34", "99999999999"} {
		if d, err := typed.ParseDistance(text, false); err == nil {
			t.Errorf("%q: %+v", text, d)
		}
	}
}

func TestParseYear(t *testing.T) {
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	for text, want := range map[string]int{
		"2019": 2019, "2019 (69)": 2019, "2019/69": 2019, "19": 2019, "69": 2019, "69 plate": 2019, "19-plate": 2019,
		"'14": 2014, "70": 2020, "51 reg": 2001,
		"18/68": 2018, "19/68": 2019, "20/20": 2020, "2019 (19)": 2019, "2018 (19)": 2018, "2020 (69)": 2020,
		"01/09/2019": 2019, "2019-09-01": 2019, "Sept 2019": 2019, "1998": 1998,
	} {
		if got, err := typed.ParseYear(text, now); err != nil || got != want {
			t.Errorf("%q: %d, %v; want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"", "twenty", "7", "1899", "2044", "201", "2018 or 2019", "AB69 XYZ", "2019 (17)",
		"2016/69", "18/19", "03/19", "17/69", "20/12", "2019 (22 plate)"} {
		if got, err := typed.ParseYear(text, now); err == nil {
			t.Errorf("%q: %d", text, got)
		}
	}
}

// 2026-03-17 was the day 46098 of a workbook: 46023 is 2026-01-01, and 75 days later is the 17th of March (ECMA-376
// part 1, 18.17.4.1).
func TestParseDay(t *testing.T) {
	for text, want := range map[string]string{
		"2026-03-17": "2026-03-17", "17/03/2026": "2026-03-17", "17/03/26": "2026-03-17", "17.3.2026": "2026-03-17",
		"17-Mar-26": "2026-03-17", "Tue 17 March 2026": "2026-03-17",
		"17th March 2026": "2026-03-17", "March 17, 2026": "2026-03-17", "46098": "2026-03-17",
		"2026-03-17T10:00": "2026-03-17", "17/03/2026 10:30": "2026-03-17", "03/03/2026": "2026-03-03",
	} {
		d, err := typed.ParseDay(text, typed.Unknown)
		if err != nil || d.Time.Format(time.DateOnly) != want {
			t.Errorf("%q: %v, %v; want %s", text, d.Time, err, want)
		}
	}
	for text, want := range map[string]string{
		"03/04/2026": "could be 3 April 2026 or 4 March 2026", "30 Feb 2026": "not a date that exists",
		"Mon 17 March 2026": "17 March 2026 is a Tuesday", "17 March": "has no year; write it out, such as 2026-03-17",
		"32/13/2026": "not a date that exists", "123": "not a date", "": "not a date",
	} {
		if d, err := typed.ParseDay(text, typed.Unknown); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v; want %q", text, d, err, want)
		}
	}
	for order, want := range map[typed.Order]string{typed.DayFirst: "2026-04-03", typed.MonthFirst: "2026-03-04"} {
		if d, err := typed.ParseDay("03/04/2026", order); err != nil || d.Time.Format(time.DateOnly) != want || !d.Open {
			t.Errorf("%s: %v, %v", order, d, err)
		}
	}
	// With points the day comes first, and no such date says that others have the month first.
	for text, want := range map[string]string{"06.02.2025": "2025-02-06", "31.12.25": "2025-12-31", "10.13.2025": ""} {
		d, err := typed.ParseDay(text, typed.Unknown)
		if (err == nil) != (want != "") || err == nil && d.Time.Format(time.DateOnly) != want {
			t.Errorf("%q: %v, %v; want %q", text, d.Time, err, want)
		}
		if shows, _ := typed.ShowsOrder(text); shows == typed.MonthFirst {
			t.Errorf("%q shows the month first", text)
		}
	}
	if d, err := typed.ParseDay("17/03/2026", typed.MonthFirst); err == nil {
		t.Errorf("month first: %v", d)
	}
}

// In 2026 the 10th of December is a Thursday, in 2025 the 31st a Wednesday (ISO 8601 week dates; date -d prints them).
func TestParseDayWithoutItsYear(t *testing.T) {
	near := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	for text, want := range map[string]string{
		"Thursday 10 December": "2026-12-10", "Thu 10th Dec": "2026-12-10", "Thursday December 10": "2026-12-10",
		"Weds 31 Dec": "2025-12-31", "Fri 1 January": "2027-01-01", "Thu 17/12": "2026-12-17", "Tue 17 March": "2026-03-17",
	} {
		d, err := typed.ParseDayNear(text, typed.Unknown, near)
		if err != nil || d.Time.Format(time.DateOnly) != want || !d.NoYear {
			t.Errorf("%q: %v, %v; want %s", text, d, err, want)
		}
	}
	for text, want := range map[string]string{
		"10 December": "has no year; write it out, such as 2026-12-10", "15/12": "such as 2026-12-15",
		"3/4": "has no year", "Sunday 10 December": "no such weekday", "Mon 7th": "is not a date", "4.5": "is not a date",
		"30 Feb": "has no year", "Mon": "is not a date",
	} {
		if d, err := typed.ParseDayNear(text, typed.Unknown, near); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, %v; want %q", text, d.Time, err, want)
		}
	}
	if d, err := typed.ParseDay("Thursday 10 December", typed.Unknown); err == nil {
		t.Errorf("without a day near by: %v", d)
	}
}

func TestParseHours(t *testing.T) {
	for text, want := range map[string]float64{"2": 2, "2 hrs": 2, "2.5h": 2.5, "1h30": 1.5, "1h30m": 1.5, "4:30": 4.5,
		"90 mins": 1.5, "20 1/4": 20.25, "1 1/2 hrs": 1.5, "1/2": 0.5, "45m": 0.75, "7 hrs 45": 7.75, "1½": 1.5, "¾ hr": 0.75,
		".5": 0.5} {
		if got, err := typed.ParseHours(text); err != nil || math.Abs(got-want) > 1e-12 {
			t.Errorf("%q: %v, %v; want %v", text, got, err, want)
		}
	}
	for _, text := range []string{"", "two", "-1", "1-2", "2h5", "10:30", "1.5.2", "1/3", "11/2", "1/2/3", "2 1/2 1/2",
		".", "99999"} {
		if got, err := typed.ParseHours(text); err == nil {
			t.Errorf("%q: %v", text, got)
		}
	}
}

// Whatever is in a cell: no panic, no number that is none, and what was read and is written our way is read the same.
func FuzzCells(f *testing.F) {
	for _, seed := range []string{"£2,100 + VAT", "3 to 4k", "(45)", "48k", "77,600 km", "69 plate", "2019 (69)",
		"Tue 17 March 2026", "03/04/2026", "46098", "1h30", "1½", "POA", "16 000k", "99999999999999999999k"} {
		f.Add(seed)
	}
	now := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	f.Fuzz(func(t *testing.T, text string) {
		if a, err := typed.ParseAmount(text, "£"); err == nil && !a.None {
			if a.Low > a.Pence || a.Pence > a.High || a.High > 2*money.Max {
				t.Errorf("%q: %+v", text, a)
			}
			if again, err := typed.ParseAmount(a.Pence.String(), "£"); err != nil || again.Pence != a.Pence {
				t.Errorf("%q is %v, and that is %v, %v", text, a.Pence, again.Pence, err)
			}
		}
		if d, err := typed.ParseDistance(text, true); err == nil && (d.Miles < 0 || d.Miles > 9_999_999) {
			t.Errorf("%q: %+v", text, d)
		}
		if y, err := typed.ParseYear(text, now); err == nil && (y < 1900 || y > 2027) {
			t.Errorf("%q: %d", text, y)
		}
		if h, err := typed.ParseHours(text); err == nil && !(h >= 0 && h <= 100_000) {
			t.Errorf("%q: %v", text, h)
		}
		if d, err := typed.ParseDay(text, typed.Unknown); err == nil {
			for _, order := range []typed.Order{typed.DayFirst, typed.MonthFirst} {
				if other, err := typed.ParseDay(text, order); err == nil && !other.Time.Equal(d.Time) {
					t.Errorf("%q: %v, but %s %v", text, d.Time, order, other.Time)
				}
			}
			if again, err := typed.ParseDay(d.Time.Format(time.DateOnly), typed.Unknown); err != nil ||
				!again.Time.Equal(d.Time) {
				t.Errorf("%q is %v, and that is %v, %v", text, d.Time, again.Time, err)
			}
		}
	})
}
