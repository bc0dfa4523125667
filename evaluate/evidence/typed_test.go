package evidence_test

import (
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/prices"
)

// Adverts and past lots typed by hand, with headers and words of people's own; the right answers are what a
// person reads, common practice, no source.
func TestAdvertsAndResultsAreReadAsPeopleTypeThem(t *testing.T) {
	dir := folder(t, map[string]string{
		"adverts.csv": "Make,Model,Yr,Mileage,Price,Cat,Seen\n" +
			"Brantholt,Aldra,20,34k,\"£8,250\",,19/11/26\n" +
			"Brantholt,Aldra,2019,41000 miles,7.9k,Cat N,5/11/26\n" +
			"Brantholt,Aldra,70 plate,29000,8400,no,12 Nov 2026\n" +
			"Brantholt,Aldra,2019,41000,POA,n,2026-11-14\n" +
			"Brantholt,Aldra,2019,41,7900,n,2026-11-14\n" +
			"Velmary,Loadwell,2019,66000,\"9,500 + VAT\",clean,14.11.26\n",
		"results.csv": "Lot No,Make,Model,Year,Miles,Cat,Sold on,Knocked down at,Outcome,Won?\n" +
			"1,Brantholt,Aldra,2017,70k,Cat N,19/11/26,\"2,200\",sold,no\n" +
			"2,Brantholt,Aldra,2017,70k,S,19/11/26,1.2k,not sold,\n" +
			"3,Brantholt,Aldra,18,70k,N,19/11/26,,not sold,\n" +
			"4,Brantholt,Aldra,18,70k,N,19/11/26,withdrawn,,\n" +
			"5,Brantholt,Aldra,18,12.3k,uncat,19/11/26,\"£2,100 + VAT\",,yes\n" +
			"6,Brantholt,Aldra,18,12.3k,N,19/11/26,1900,maybe,\n" +
			"7,Brantholt,Aldra,18,12.3k,N,19/11/26,40,,\n",
	})
	_, f := readShop(t, dir)
	got := messages(dir, f)
	want := []string{
		`adverts.csv:6: Mileage: "41" may be in thousands; write 41k or 41 miles`,
		`results.csv:7: Outcome: "maybe" says neither that the lot was sold nor that it was not; ` +
			`write sold, unsold or withdrawn`,
		`adverts.csv:5: asked: blank, and got too; write the price asked, or for an own sale the price received`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if len(f.Adverts) != 4 || len(f.Results) != 6 {
		t.Fatalf("%d adverts, %d results", len(f.Adverts), len(f.Results))
	}
	day := func(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }
	for i, want := range []prices.Advert{
		{Year: 2020, Miles: 34000, Asked: 8250, LastSeen: day(19)},
		{Year: 2019, Miles: 41000, Asked: 7900, Marked: "N", LastSeen: day(5)},
		{Year: 2020, Miles: 29000, Asked: 8400, Marked: "no", LastSeen: day(12)},
		{Year: 2019, Miles: 66000, Asked: 9500, Marked: "unrecorded", LastSeen: day(14), VATPlus: true},
	} {
		a := f.Adverts[i]
		if a.Year != want.Year || a.Miles != want.Miles || a.Asked != want.Asked || a.Marked != want.Marked ||
			!a.LastSeen.Equal(want.LastSeen) || a.VATPlus != want.VATPlus {
			t.Errorf("advert %d is read as %+v", i+1, a)
		}
	}
	for i, want := range []struct {
		Year     int
		Miles    prices.Optional
		Category string
		Hammer   float64
		Outcome  prices.Outcome
		Won      prices.Answer
		VATPlus  bool
	}{
		{Year: 2017, Miles: prices.Some(70000), Category: "N", Hammer: 2200, Outcome: prices.Sold, Won: prices.No},
		{Year: 2017, Miles: prices.Some(70000), Category: "S", Hammer: 1200, Outcome: prices.Unsold},
		{Year: 2018, Miles: prices.Some(70000), Category: "N", Outcome: prices.Unsold},
		{Year: 2018, Miles: prices.Some(70000), Category: "N", Outcome: prices.Withdrawn},
		{Year: 2018, Miles: prices.Some(12300), Category: "unrecorded", Hammer: 2100, Won: prices.Yes, VATPlus: true},
		{Year: 2018, Miles: prices.Some(12300), Category: "N", Hammer: 40},
	} {
		r := f.Results[i]
		if r.Year != want.Year || r.Miles != want.Miles || r.Category != want.Category || r.Hammer != want.Hammer ||
			r.Outcome != want.Outcome || r.Won != want.Won || r.VATPlus != want.VATPlus || !r.SaleDate.Equal(day(19)) {
			t.Errorf("result %d is read as %+v", i+1, r.Result)
		}
	}
	notices := strings.Join(f.Notices, "\n")
	for _, part := range []string{`asked="Price"`, `last_seen="Seen"`, `hammer="Knocked down at"`, "read day first"} {
		if !strings.Contains(notices, part) {
			t.Errorf("no notice says %s:\n%s", part, notices)
		}
	}
}

// Where no date of the files shows which figure is the month, a date that could be two is asked about.
func TestADateThatCouldBeTwoIsAsked(t *testing.T) {
	dir := folder(t, map[string]string{
		"adverts.csv": "make,model,year,miles,asked,marked,seen\nBrantholt,Aldra,2020,34000,8250,no,04/03/2026\n",
	})
	_, f := readShop(t, dir)
	got := messages(dir, f)
	want := `adverts.csv:2: seen: "04/03/2026" could be 4 March 2026 or 3 April 2026; write 2026-03-04 or 2026-04-03`
	if len(got) != 1 || got[0] != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
