package tabular_test

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"
	"unicode"

	"pgregory.net/rapid"

	"wreckoner/evaluate/tabular"
)

// said writes a value and an error as one text.
func said(value any, err error) string {
	if err != nil {
		return "! " + err.Error()
	}
	return fmt.Sprint(value)
}

func TestCellState(t *testing.T) {
	var c tabular.Cell
	if c.State != tabular.Absent || c.Given() || c.Text() != "" {
		t.Errorf("the zero value is %v %q", c.State, c.Text())
	}
	for _, test := range []struct {
		raw, text string
		state     tabular.State
	}{
		{"", "", tabular.Blank},
		{" \u00a0\t\n", "", tabular.Blank},
		{" x\u00a0", "x", tabular.Given},
		{"\u00a0nose s2\u2003", "nose s2", tabular.Given},
		{"\ufeffx\u200b", "x", tabular.Given},
		{"x", "x", tabular.Given},
	} {
		if err := c.UnmarshalCSV(test.raw); err != nil {
			t.Fatal(err)
		}
		if c.Raw != test.raw || c.Text() != test.text || c.State != test.state {
			t.Errorf("%q: %v %q", test.raw, c.State, c.Text())
		}
	}
}

func TestInt(t *testing.T) {
	for _, test := range []struct {
		raw         string
		least, most int
		want        string
	}{
		{"2019", 1900, 2100, "2019"},
		{" 54,000 ", 0, math.MaxInt, "54000"},
		{"010", 0, 100, "10"}, // not octal
		{"-3", math.MinInt, math.MaxInt, "-3"},
		{"1,234,567", 0, math.MaxInt, "1234567"},
		{"2190", 1900, 2100, "! 2190 is not between 1900 and 2100; write a number in that range"},
		{"-1", 0, math.MaxInt, "! -1 is below 0; write 0 or more"},
		{"11", math.MinInt, 10, "! 11 is above 10; write 10 or less"},
		{"12.99", 0, 100, `! "12.99" is not a whole number; leave the decimals out`},
		{"1,25", 0, 9999, `! "1,25" is not a whole number; write 1250 or 1,250`},
		{"12OO", 0, 9999, `! "12OO" is not a whole number; write 1250 or 1,250`},
		{"0x1F", 0, 9999, `! "0x1F" is not a whole number; write 1250 or 1,250`},
		{"1_000", 0, 9999, `! "1_000" is not a whole number; write 1250 or 1,250`},
		{"99999999999999999999", 0, math.MaxInt, "! 99999999999999999999 is too large; is it the right column?"},
		{"", 0, 1, "! is blank; write a whole number"},
	} {
		n, err := tabular.NewCell(test.raw).Int(test.least, test.most)
		if got := said(n, err); got != test.want {
			t.Errorf("%q: got %s, want %s", test.raw, got, test.want)
		}
	}
	if _, err := (tabular.Cell{}).Int(0, 1); err == nil ||
		err.Error() != "there is no such column; add it, with a whole number" {
		t.Errorf("absent: got %v", err)
	}
}

func TestNumber(t *testing.T) {
	inf := math.Inf(1)
	bad := func(text string) string { return fmt.Sprintf("! %q is not a number; write 1250 or 1,250.5", text) }
	for _, test := range []struct {
		raw         string
		least, most float64
		want        string
	}{
		{"1250", 0, inf, "1250"}, {"1,250", 0, inf, "1250"}, {"1,250.50", 0, inf, "1250.5"}, {"0.5", 0, 1, "0.5"},
		{".5", 0, 1, "0.5"}, {"-2.5", -inf, inf, "-2.5"}, {"0", 0, inf, "0"}, {"12,345,678.9", 0, inf, "1.23456789e+07"},
		{"1,25", 0, inf, bad("1,25")}, {"1250,50", 0, inf, bad("1250,50")}, {"1,2500", 0, inf, bad("1,2500")},
		{",250", 0, inf, bad(",250")}, {"1,,250", 0, inf, bad("1,,250")}, {"1.250,5", 0, inf, bad("1.250,5")},
		{"12.5k", 0, inf, bad("12.5k")}, {"NaN", 0, inf, bad("NaN")}, {"Inf", 0, inf, bad("Inf")}, {"+Inf", 0, inf,
			bad("+Inf")},
		{"1e5", 0, inf, bad("1e5")}, {"0x10", 0, inf, bad("0x10")}, {"1.", 0, inf, bad("1.")}, {".", 0, inf, bad(".")},
		{"-", 0, inf, bad("-")}, {"--1", -inf, inf, bad("--1")}, {"1 250", 0, inf, bad("1 250")}, {"1_000", 0, inf,
			bad("1_000")},
		{"٣", 0, inf, bad("٣")},
		{"-1", 0, inf, "! -1 is below 0; write 0 or more"},
		{"2", 0, 1.5, "! 2 is not between 0 and 1.5; write a number in that range"},
		{strings.Repeat("9", 400), 0, inf, "! " + strings.Repeat("9", 79) + "… is too large; is it the right column?"},
		{" ", 0, inf, "! is blank; write a number"},
	} {
		x, err := tabular.NewCell(test.raw).Number(test.least, test.most)
		if got := said(x, err); got != test.want {
			t.Errorf("%q: got %s, want %s", test.raw, got, test.want)
		}
	}
}

func TestFraction(t *testing.T) {
	for _, test := range []struct{ raw, want string }{
		{"0.2", "0.2"}, {"0", "0"}, {"1", "1"}, {".15", "0.15"},
		{"15", "! 15 is not a share between 0 and 1; did you mean 0.15?"},
		{"20%", "! 20% is not a share between 0 and 1; did you mean 0.2?"},
		{"20 %", "! 20 % is not a share between 0 and 1; did you mean 0.2?"},
		{"35.1", "! 35.1 is not a share between 0 and 1; did you mean 0.351?"},
		{"0.5%", "! 0.5% is not a share between 0 and 1; did you mean 0.005?"},
		{"150", "! 150 is not a share between 0 and 1; write a fraction such as 0.2 for 20%"},
		{"-0.1", "! -0.1 is not a share between 0 and 1; write a fraction such as 0.2 for 20%"},
		{"0,2", `! "0,2" is not a share; write a fraction such as 0.2 for 20%`},
		{"NaN", `! "NaN" is not a share; write a fraction such as 0.2 for 20%`},
		{"", "! is blank; write a share, such as 0.2 for 20%"},
	} {
		x, err := tabular.NewCell(test.raw).Fraction()
		if got := said(x, err); got != test.want {
			t.Errorf("%q: got %s, want %s", test.raw, got, test.want)
		}
	}
}

func TestYesNoAndWord(t *testing.T) {
	for _, test := range []struct{ raw, yesNo, word string }{
		{"yes", "true", "yes"}, {" NO ", "false", "no"}, {"Unknown", `! "Unknown" is neither yes nor no; write yes or no`,
			"unknown"},
		{"TRUE", "true", `! "TRUE" is not one of the choices here; write yes, no or unknown`},
		{"unknwon", `! "unknwon" is neither yes nor no; write yes or no`,
			`! "unknwon" is not one of the choices here; did you mean unknown? write yes, no or unknown`},
		{"", "! is blank; write yes or no", "! is blank; write yes, no or unknown"},
	} {
		c := tabular.NewCell(test.raw)
		b, err := c.YesNo()
		if got := said(b, err); got != test.yesNo {
			t.Errorf("YesNo %q: got %s, want %s", test.raw, got, test.yesNo)
		}
		w, err := c.Word("yes", "no", "unknown")
		if got := said(w, err); got != test.word {
			t.Errorf("Word %q: got %s, want %s", test.raw, got, test.word)
		}
	}
}

func TestDate(t *testing.T) {
	day, err := tabular.NewCell(" 2024-02-29 ").Date()
	if err != nil || !day.Equal(time.Date(2024, 2, 29, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("got %v, %v", day, err)
	}
	for _, raw := range []string{"2023-02-29", "29/02/2024", "2024-2-9", "45351"} {
		_, err := tabular.NewCell(raw).Date()
		want := fmt.Sprintf("%q is not a date; write year-month-day, such as 2026-04-30", raw)
		if err == nil || err.Error() != want {
			t.Errorf("%q: got %v", raw, err)
		}
	}
}

func TestSanitise(t *testing.T) {
	for _, test := range []struct{ text, want string }{
		{"Brantholt Aldra £1,250 é 漢字 🚗", "Brantholt Aldra £1,250 é 漢字 🚗"},
		{"\x1b[31mred\x1b[0m", `\x1b[31mred\x1b[0m`},
		{"\x1b]0;title\x07", `\x1b]0;title\x07`},
		{"a\x00b\x7fc\u009bd", `a\x00b\x7fc\x9bd`},
		{"one\r\ntwo\nthree\tfour\rfive", "one two three four five"},
		{"a\u2028b\u2029c\u00a0d\u3000e", "a b c d e"},
		{"safe\u202egnp.exe", `safe\u202egnp.exe`},
		{"\u2066x\u2069\u200b\u200d\ufeff\u00ad", `\u2066x\u2069\u200b\u200d\ufeff\xad`},
		{"\U000e0041\ue000\u115f\u3164\ufe0f\u034f", `\U000e0041\ue000\u115f\u3164\ufe0f\u034f`},
		{"bad \xff utf-8", "bad \ufffd utf-8"},
		{"", ""},
	} {
		if got := tabular.Sanitise(test.text); got != test.want {
			t.Errorf("%q: got %q, want %q", test.text, got, test.want)
		}
	}
}

func TestSanitiseLeavesNothingHarmful(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()),
			func(b []byte) string { return string(b) })).Draw(t, "text")
		once := tabular.Sanitise(text)
		for _, r := range once {
			if unicode.In(r, unicode.Cc, unicode.Cf, unicode.Co, unicode.Zl, unicode.Zp, unicode.Bidi_Control) ||
				!unicode.IsPrint(r) {
				t.Fatalf("%q holds %U", once, r)
			}
		}
		if twice := tabular.Sanitise(once); twice != once {
			t.Fatalf("%q became %q", once, twice)
		}
	})
}

func TestNearest(t *testing.T) {
	for _, test := range []struct {
		word  string
		among []string
		want  string
	}{
		{"value", []string{"Lot", "Est value", "Guide"}, "Est value"},
		{"value", []string{"Valeu", "Est value"}, "Valeu"},
		{"lot", []string{"Pilot", "Lot number"}, "Lot number"},
		{"lot", []string{"Pilot", "Loot", "Plot"}, ""},
		{"damage", []string{"Coded_damage", "Image"}, "Coded_damage"},
		{"category", []string{"Catgory"}, "Catgory"},
		{"category", []string{"Cat", "Colour"}, ""},
		{"odometer", []string{"Vehicleodometer"}, "Vehicleodometer"},
		{"value", []string{"Price", "Guide"}, ""},
		{"", []string{"Price"}, ""},
		{"value", nil, ""},
	} {
		if got := tabular.Nearest(test.word, test.among); got != test.want {
			t.Errorf("%q among %q: got %q, want %q", test.word, test.among, got, test.want)
		}
	}
}

// A ' that was put before text that a spreadsheet would run is no part of it.
func TestTheGuardAgainstFormulasIsUndone(t *testing.T) {
	for text, want := range map[string]string{"'+VAT": "+VAT", "'=1+1": "=1+1", "'-": "-", "'@x": "@x", "'19": "'19",
		"'": "'", " '+VAT ": "+VAT", "''+VAT": "''+VAT"} {
		if got := tabular.NewCell(text).Text(); got != want {
			t.Errorf("%q is read as %q, want %q", text, got, want)
		}
	}
}
