package evaluate_test

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/gocarina/gocsv"
	"github.com/olekukonko/tablewriter"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
)

// A judged is a repair as a person who knows the trade put it: pounds.
type judged struct {
	Lot      string  `csv:"lot"`
	What     string  `csv:"what"`
	Year     int     `csv:"year"`
	Odometer int     `csv:"odometer"`
	Segment  string  `csv:"segment"`
	Category string  `csv:"category"`
	Damage   string  `csv:"damage"`
	Value    float64 `csv:"value"`
	P10      float64 `csv:"repair_p10"`
	P50      float64 `csv:"repair_p50"`
	P90      float64 `csv:"repair_p90"`
}

// judgement reads testdata/trade/judgement.csv, whose first line says where it comes from.
func judgement(t *testing.T) []*judged {
	t.Helper()
	text, err := os.ReadFile("testdata/trade/judgement.csv")
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(text), "\n")
	var rows []*judged
	if err := gocsv.UnmarshalString(table, &rows); err != nil {
		t.Fatal(err)
	}
	return rows
}

// repairOf is what the starter says of a judged repair, own hours at 30 pounds, the sale in 2025.
func (j *judged) repairOf(t *testing.T) evaluate.Repair {
	t.Helper()
	s := starter(t)
	s.LabourRate = 30
	r, err := evaluatorOf(t, s, evaluate.Options{}).Evaluate(&evaluate.Lot{Number: j.Lot, Segment: j.Segment,
		Category: j.Category,
		Year:     j.Year, SaleYear: 2025, Odometer: j.Odometer, Value: money.FromPounds(j.Value), Code: code(t,
			j.Damage), Site: starterSite(t)})
	if err != nil {
		t.Fatal(err)
	}
	return r.Repair
}

// The starter's P50 of thirteen of sixteen repairs at least is within a quarter of what a person who knows the trade
// judged. The judgement is from memory, without receipts; the rows were written by general rules, none for one car.
func TestTheStarterAgainstSixteenJudgedRepairs(t *testing.T) {
	rows := judgement(t)
	if len(rows) != 16 {
		t.Fatalf("%d repairs, want 16", len(rows))
	}
	var text strings.Builder
	table := tablewriter.NewTable(&text)
	table.Header("lot", "what", "judged P10", "P50", "P90", "starter P10", "P50", "P90", "off by %", "width, times")
	near := 0
	for _, j := range rows {
		r := j.repairOf(t)
		off := r.P50/j.P50 - 1
		if math.Abs(off) <= 0.25 {
			near++
		}
		if err := table.Append(j.Lot, j.What, whole(j.P10), whole(j.P50), whole(j.P90), whole(r.P10), whole(r.P50),
			whole(r.P90),
			whole(100*off), fmt.Sprintf("%.2f", r.P90/r.P50/(j.P90/j.P50))); err != nil {
			t.Fatal(err)
		}
	}
	if err := table.Render(); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d of 16 within a quarter\n%s", near, text.String())
	if near < 13 {
		t.Errorf("%d of 16 P50s are within a quarter of the judged, want 13", near)
	}
}

func whole(x float64) string { return fmt.Sprintf("%.0f", x) }

// The same damage on a 2023 car costs about twice what it costs on one of 2013. By judgement, from memory, it is three
// times; the starter's own multipliers, kept nearer to 1, make it 2.1.
func TestANewCarCostsTwiceAnOldOne(t *testing.T) {
	var old, fresh float64
	for _, j := range judgement(t) {
		switch j.Lot {
		case "A23":
			old = j.repairOf(t).P50
		case "A24":
			fresh = j.repairOf(t).P50
		}
	}
	if ratio := fresh / old; !(ratio > 1.9 && ratio < 3.1) {
		t.Errorf("a full front of a 2023 family car is %.0f, of a 2013 one %.0f: %.2f times, want about twice", fresh, old,
			ratio)
	} else {
		t.Logf("%.0f and %.0f: %.2f times", fresh, old, ratio)
	}
}
