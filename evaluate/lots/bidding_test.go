package lots_test

import (
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

func TestBidding(t *testing.T) {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	const head = "lot,category,damage,value,guide,closes,opening,guide low,guide high,pay by\n"
	for row, want := range map[string]string{
		`1,N,tail c2,9400,4800,14:05,500,4000,6000,6 March`: "",
		`1,N,tail c2,9400,4800,2026-03-04 9:05,,4800,4800,`: "",
		`1,N,tail c2,9400,4800,2026-03-04T14:05:30,,,,`:     "",
		`1,N,tail c2,9400,4800,half past two,,,,`:           `closes: "half past two" is not a time; write 14:05 or 2026-03-04 14:05`,
		`1,N,tail c2,9400,4800,2.05,,,,`:                    `closes: "2.05" could be in the afternoon or at night; write 14:05 or 02:05`,
		`1,N,tail c2,9400,4800,25:00,,,,`:                   `closes: "25:00" is not a time`,
		`1,N,tail c2,9400,4800,,0,,,`:                       `opening: "0" is not above 0`,
		`1,N,tail c2,9400,"4,800",,,"5,200",6000,`:          `guide low: 5,200 is above the guide of 4,800; low, guide and high must rise`,
		`1,N,tail c2,9400,4800,,,4800,6000,`:                `guide low: 4,800 is the same as the guide of 4,800`,
		`1,N,tail c2,9400,4800,,,4000,4700.50,`:             `guide high: 4,700.50 is below the guide of 4,800`,
		`1,N,tail c2,9400,4800,,,4000,,`:                    `guide high: is blank, while guide low is given`,
		`1,N,tail c2,9400,4800,,,,6000,`:                    `guide low: is blank, while guide high is given`,
		`1,N,tail c2,9400,,,,4000,,`:                        `guide: is blank, while guide low or guide high is given`,
		`1,N,tail c2,9400,,,,6000,4000,`:                    `guide low: 6,000 is above the guide high of 4,000`,
		`1,N,tail c2,9400,,,,4000,6000,`:                    "", // its middle, as of a range
		`1,N,tail c2,9400,,,,4000-6000,7000,`:               `guide low: "4000-6000" is a range; write one amount`,
		`1,N,tail c2,9400,,,£500,£4.2k,£5k,`:                "",
	} {
		list, err := lots.ReadList(tabular.NewCSV("a.csv", strings.NewReader(head+row+"\n")), workshop, lots.Reading{})
		switch {
		case err != nil:
			t.Fatal(err)
		case want == "" && len(list.Problems) > 0, want != "" && len(list.Problems) != 1:
			t.Errorf("%s: %v", row, list.Problems)
		case want != "" && !strings.Contains(list.Problems[0].Error(), "a.csv:2: "+want):
			t.Errorf("%s: %v, want %q", row, list.Problems[0], want)
		case strings.Contains(row, "14:05,500"):
			readAll(t, list.Lots[0])
		}
	}
}

// readAll checks the first row of TestBidding.
func readAll(t *testing.T, l *evaluate.Lot) {
	t.Helper()
	if !l.Closes.TimeOnly || l.Closes.At.Format(time.TimeOnly) != "14:05:00" || l.Closes.At.IsZero() {
		t.Errorf("closes %+v", l.Closes)
	}
	if want := (evaluate.Bidding{Opening: 50000, GuideLow: 400000, GuideHigh: 600000,
		PayBy: "6 March"}); l.Bidding != want {
		t.Errorf("read %+v, want %+v", l.Bidding, want)
	}
}
