package prices

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

func day(text string) time.Time {
	d, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return d
}

func texts(list []Notice) []string {
	var out []string
	for _, n := range list {
		out = append(out, n.String())
	}
	return out
}

func aldra(line int) Advert {
	return Advert{Line: line, Make: "Brantholt", Model: "Aldra", Segment: "family", Year: 2018,
		Miles: float64(50000 + line), Asked: 7450,
		LastSeen: day("2026-03-04")}
}

func TestRowsThatCannotBeRightAreRefused(t *testing.T) {
	s := fixtureSettings()
	a := []Advert{aldra(4), aldra(12), aldra(15), aldra(18), aldra(25), aldra(26), aldra(27), aldra(28), aldra(29)}
	a[1].FirstSeen, a[1].LastSeen = day("2026-03-04"), day("2026-03-01")
	a[2].Marked = "Cat N"
	a[3].Asked = 0
	a[4].Segment = "city"
	a[5].LastSeen = time.Time{}
	a[6].Asked = -7450
	a[7].Segment = "hovercraft"
	a[8].Year = 0
	good, bad := CheckAdverts(a, &s)
	want := []string{
		"adverts.csv:12: last_seen: 2026-03-01 is before first_seen, 2026-03-04; is one of them mistyped?",
		`adverts.csv:15: marked: "Cat N" is not yes, no or a category of the shop; write N`,
		"adverts.csv:18: asked: blank, and got too; write the price asked, or for an own sale the price received",
		`adverts.csv:25: segment: "city", but Aldra is family on line 4; write one car type for a model`,
		"adverts.csv:26: last_seen: blank, and first_seen and sold too; write the day the advert was last seen, such as " +
			"2026-03-04",
		"adverts.csv:27: asked: -7450 is not an amount of at least 0; write one such as 7450",
		`adverts.csv:28: segment: "hovercraft" is not a car type of the shop`,
		"adverts.csv:29: year: blank; write the car's year, such as 2018",
	}
	if diff := cmp.Diff(want, texts(bad)); diff != "" {
		t.Error(diff)
	}
	if len(good) != 1 || good[0].Line != 4 {
		t.Errorf("good rows: %v", good)
	}

	lot := Lot{Make: "Brantholt", Model: "Aldra", Site: "Marrow Fen", SaleDate: day("2026-04-30"), Category: "N",
		Value: 8000}
	r := []Result{{Lot: lot, Line: 44, Number: "214", Hammer: 2500}, {Lot: lot, Line: 60, Number: "214", Hammer: 2500},
		{Lot: lot, Line: 21, Number: "3", Hammer: 3400, Stop: 3000, Won: Yes}, {Lot: lot, Line: 8, Number: "4", Hammer: 900}}
	r[3].SaleDate = time.Time{}
	goodResults, bad := CheckResults(r, &s)
	want = []string{
		"results.csv:8: sale_date: blank; write the day of the sale, such as 2026-05-27",
		"results.csv:21: stop: 3,000 is below the hammer price of 3,400, and won says yes; is one of them mistyped?",
		`results.csv:60: lot: "214" of Marrow Fen on 2026-04-30 is already on line 44; take one away`,
	}
	if diff := cmp.Diff(want, texts(bad)); diff != "" {
		t.Error(diff)
	}
	if len(goodResults) != 1 || goodResults[0].Line != 44 {
		t.Errorf("good rows: %v", goodResults)
	}
}

func TestSettingsThatCannotBeUsedAreRefused(t *testing.T) {
	for want, change := range map[string]func(*Settings){
		"advert_halflife: 0 is not above 0; write days, such as 180":                                     func(s *Settings) { s.AdvertHalflife = 0 },
		"listing_share: 1 is not between 0 and 1; write a fraction, such as 0.5":                         func(s *Settings) { s.ListingShare = 1 },
		"share_spread: [1 0.5 2] does not rise from above 0; write three factors, such as [0.6, 1, 1.6]": func(s *Settings) { s.ShareSpread = Points{1, 0.5, 2} },
		"value_spread: no car type has one; write one for each car type, such as 0.08":                   func(s *Settings) { s.ValueSpread = nil },
		"margin_spread: -1 is below 0; write a share of the value, such as 0.08":                         func(s *Settings) { s.MarginSpread = Some(-1) },
	} {
		s := fixtureSettings()
		change(&s)
		if _, err := Fit(nil, nil, nil, s); err == nil || err.Error() != want {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

func TestNoticesSayWhatBecameOfRows(t *testing.T) {
	s := fixtureSettings()
	var adverts []Advert
	for line := 2; line < 12; line++ {
		adverts = append(adverts, aldra(line))
	}
	again, slip, old, ahead, early := aldra(12), aldra(13), aldra(14), aldra(15), aldra(16)
	again.Miles, again.Asked, again.LastSeen = adverts[0].Miles, 7000, day("2026-04-01")
	slip.Model = "Aldr"
	old.LastSeen = day("2020-01-01")
	ahead.LastSeen = day("2026-07-01")
	early.Year = 2027
	adverts = append(adverts, again, slip, old, ahead, early)
	lot := Lot{Make: "Brantholt", Model: "Aldra", Year: 2018, Miles: Some(61000), Segment: "family", Category: "N",
		Value: 8000, Site: "Marrow Fen",
		SaleDate: day("2026-05-01")}
	r := []Result{{Lot: lot, Line: 2, Hammer: 2500}, {Lot: lot, Line: 3, Hammer: 2600}, {Lot: lot, Line: 4,
		Outcome: Withdrawn},
		{Lot: lot, Line: 5}, {Lot: lot, Line: 6, Hammer: 2400, Stop: 3000}, {Lot: lot, Line: 7, Hammer: 2400}}
	r[1].SaleDate = day("2026-05-29")
	for i := 2; i < len(r); i++ {
		r[i].Miles = Some(float64(62000 + i))
	}
	r[5].Make, r[5].Model, r[5].Value = "Velmary", "Tiffet", 0
	m, err := Fit(adverts, r, nil, s)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"adverts.csv:2: last_seen: line 12 has the same car later or at another price; the two count as one, at that price",
		`adverts.csv:13: model: "Aldr": did you mean Aldra?`,
		"adverts.csv:14: last_seen: 2020-01-01 is more than 1080 days before 2026-06-01; the row no longer counts",
		"adverts.csv:15: last_seen: 2026-07-01 is after 2026-06-01, the day of this reckoning; the row is left out",
		"adverts.csv:16: year: 2027 is after the row's day, 2026-03-04; the age counts as 0",
		"results.csv:2: sale_date: the same car was offered again on 2026-05-29, line 3; only the last row counts",
		"results.csv:4: result: withdrawn: the row is not used",
		"results.csv:5: hammer: not sold: counted by site, not used for the price",
		"results.csv:6: won: blank, and stop is given; write yes or no: until then the row does not say how far rivals " +
			"would have gone",
		"results.csv:7: value: blank, and adverts.csv has 0 Velmary Tiffet; write the value, or copy 3 more adverts; " +
			"until then the row says nothing of the price",
	}
	var got []Notice
	for _, n := range m.Notices() {
		if n.Kind != Mistyped {
			got = append(got, n)
		}
	}
	if diff := cmp.Diff(want, texts(got)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]Site{{"Marrow Fen", 3, 1, 1}}, m.Sites()); diff != "" {
		t.Error(diff)
	}
	if m, err = Fit(adverts, nil, nil, Settings{}); err == nil || m != nil {
		t.Error("settings without anything in them")
	}
}

func TestHowManyTimes(t *testing.T) {
	for off, want := range map[float64]string{2.3: "10 times", -2.3: "a tenth of", 0.4: "1.5 times", -0.69: "half",
		0.7: "2 times", -3: "a 20th of"} {
		if got := times(off); got != want {
			t.Errorf("%v: %q, want %q", off, got, want)
		}
	}
}

// The rounds on the way to model 2 use normal equations, the last fit QR: both have to say the same.
func TestNormalEquationsAgreeWithQR(t *testing.T) {
	adverts, results, builds := fixture(t)
	s := fixtureSettings()
	_, past, err := fitValues(adverts, results, builds, s)
	if err != nil {
		t.Fatal(err)
	}
	quick, err := fitHammers(&s, past, true, true)
	if err != nil {
		t.Fatal(err)
	}
	full, err := fitHammers(&s, past, true, false)
	if err != nil {
		t.Fatal(err)
	}
	for i := range past[:20] {
		if past[i].guide == 0 {
			continue
		}
		a, b := quick.price(&past[i], PriceFromBoth), full.price(&past[i], PriceFromBoth)
		same(t, "location", a.Location, b.Location, 1e-11)
		same(t, "scale", a.Scale, b.Scale, 1e-11)
	}
}

func TestSoldWithoutAPriceIsRefused(t *testing.T) {
	s := fixtureSettings()
	_, bad := CheckResults([]Result{{Line: 3, Outcome: Sold, Lot: Lot{SaleDate: day("2026-05-01")}}}, &s)
	if diff := cmp.Diff([]string{"results.csv:3: hammer: blank, and result says sold; write the hammer price"},
		texts(bad)); diff != "" {
		t.Error(diff)
	}
}
