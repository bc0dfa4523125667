package lots_test

import (
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

const ageHeader = "lot,category,damage,value,year,sale_date,coded_from,quotes\n"

// A car is as old as at its sale: that of sale_date, else the day that was named, which the
// first notice then gives where the shop goes by age.
func TestSaleYear(t *testing.T) {
	workshop := starter(t)
	workshop.Ages = []shop.Age{{Multipliers: shop.Multipliers{Classes: [5]float64{1, 1, 1, 1, 1}, Hours: 1}}}
	read := func(rows string, on lots.Day) *lots.List {
		t.Helper()
		list, err := lots.ReadList(tabular.NewCSV("sale.csv", strings.NewReader(ageHeader+rows)), workshop,
			lots.Reading{On: on})
		if err != nil || len(list.Problems) > 0 {
			t.Fatal(err, list.Problems)
		}
		return list
	}
	on := lots.Day{Date: time.Date(2026, 4, 30, 0, 0, 0, 0, time.UTC)}
	list := read("1,N,nose c2,5000,2019,2025-12-30,,\n2,N,nose c2,5000,2019,,words,nose c2=250\n3,N,nose "+
		"c2,5000,,,seen,\n", on)
	for i, want := range []int{2025, 2026, 2026} {
		if got := list.Lots[i].SaleYear; got != want {
			t.Errorf("lot %d is sold in %d, want %d", i+1, got, want)
		}
	}
	want := "sale.csv: ages of cars are counted to 30 April 2026 where the lot has no sale_date; use --on DATE for " +
		"another day"
	if len(list.Notices) == 0 || list.Notices[0] != want {
		t.Errorf("the first notice is not the day: %q", list.Notices)
	}
	if l := list.Lots[1]; l.CodedFrom != "words" || len(l.Quotes) != 1 || l.Quotes[0].Spend != 250 {
		t.Errorf("lot 2 is coded from %q with quotes %v", l.CodedFrom, l.Quotes)
	}
	on.Today = true
	if text := strings.Join(read("1,N,nose c2,5000,2019,,,\n", on).Notices, "\n"); !strings.Contains(text,
		"30 April 2026 (today) where") {
		t.Errorf("nobody is told that the day is today's: %s", text)
	}
	for _, list := range []*lots.List{read("1,N,nose c2,5000,2019,2025-12-30,,\n", on), read("1,N,nose c2,5000,,,,\n",
		on), read("1,N,nose c2,5000,2019,,,\n", lots.Day{})} {
		if text := strings.Join(list.Notices, "\n"); strings.Contains(text, "ages of cars") {
			t.Errorf("a day is named that no age was told by: %s", text)
		}
	}
	workshop.Ages = nil
	if text := strings.Join(read("1,N,nose c2,5000,2019,,,\n", on).Notices, "\n"); strings.Contains(text,
		"ages of cars") && !workshop.AgeMatters() {
		t.Errorf("a day is named where age changes nothing: %s", text)
	}
}

func TestFaultsOfQuotesAndCoding(t *testing.T) {
	workshop := starter(t)
	rows := "1,N,nose c2,5000,,,guess,\n2,N,nose c2,5000,,,,nose c3=10\n3,N,nose c2,5000,,,,nose c2=250\n"
	list, err := lots.ReadList(tabular.NewCSV("sale.csv", strings.NewReader(ageHeader+rows)), workshop, lots.Reading{})
	if err != nil || len(list.Lots) != 1 || len(list.Problems) != 2 {
		t.Fatal(err, list.Lots, list.Problems)
	}
	for i, want := range []string{`sale.csv:2: coded_from: "guess" is not one of the choices here; write photos, words or seen`, "sale.csv:3: quotes: nose c3 is not coded as seen or suspected"} {
		if got := list.Problems[i].Error(); !strings.HasPrefix(got, want) {
			t.Errorf("%s\nwant %s", got, want)
		}
	}
}
