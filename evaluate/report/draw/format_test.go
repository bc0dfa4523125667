package draw

import "testing"

func TestFormats(t *testing.T) {
	two := Plain("days")
	two.Decimals = 2
	for _, c := range []struct{ got, want string }{
		{Money("GBP").Value(1234567.5), "£1,234,568"},
		{Money("GBP").Value(-0.4), "£0"},
		{Money("GBP").Value(-0.5), "−£1"}, // half away from zero
		{Money("SEK").Value(999.4), "SEK\u00a0999"},
		{Money("£").Signed(75), "+£75"},
		{Money("£").Signed(-75), "−£75"},
		{Money("£").Signed(0.2), "£0"},
		{Percent().Value(0.2), "20%"},
		{Percent().tick(0.125, 0.005, false), "12.5%"},
		{Plain("").Value(12), "12"},
		{two.Value(1.005), "1.00\u00a0days"}, // the float is a little below 1.005
		{Money("GBP").tick(10000, 5000, true), "£10k"},
		{Money("GBP").tick(-2e6, 1e6, true), "−£2m"},
		{Money("GBP").tick(0, 5000, true), "£0"},
		{Money("GBP").tick(1500, 500, true), "£1,500"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
