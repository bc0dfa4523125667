package reforecast_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

const statedHead = "build,date,zone,class,grade,what,spend,hours,state,due\na,2026-03-01,,,,hammer,1500,,,\n"

// A job that money went to and of which no row says how it stands is named; if it is done, nothing more is to come of
// it. One with a state, or whose part is still to come, or that cost nothing, is not asked about.
func TestJobsWithoutAState(t *testing.T) {
	b := ledgerOf(t, statedHead+`a,2026-03-05,nose,s,2,leg,300,4,,
a,2026-03-05,nose,c,3,bonnet,200,,open,
a,2026-03-06,front-near,m,2,wishbone,90,1,done,
a,2026-03-06,tail,c,3,bumper,120,,,2026-05-02
a,2026-03-06,tail,e,1,found,,,,
`)
	f := forecaster(t, starter(t), 1024, lot(t, "nose s2 c3; front-near m2; tail c3"))
	p, _ := reforecast.Read(b, 20, day(t, "2026-03-20"))
	done, unsaid := p.AllSaid()
	if len(unsaid) != 1 || unsaid[0].String() != "nose s" {
		t.Fatalf("%v", unsaid)
	}
	now, err := f.Forecast(p, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	then, err := f.Forecast(done, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range then.Jobs {
		if l.Spot == unsaid[0] && (l.State != reforecast.Done || l.ToCome.Mean != 0) {
			t.Errorf("%+v", l)
		}
	}
	if now.Now.Margin.Mean == then.Now.Margin.Mean || p.Jobs[0].Done {
		t.Error("the progress itself was changed, or the margin is the same")
	}
}

// Where a row says when a part is due, it is not taken as arrived, however long ago it was paid for.
func TestPartsWithADueDateAreNotTakenAsArrived(t *testing.T) {
	f := forecaster(t, starter(t), 1024, lot(t, "nose c3"))
	for _, tt := range []struct {
		due   string
		taken bool
	}{{"", true}, {"2026-08-01", false}, {"2026-05-01", false}} {
		b := ledgerOf(t, statedHead+"a,2026-03-05,nose,c,3,bonnet,200,,open,"+tt.due+"\n")
		p, _ := reforecast.Read(b, 20, day(t, "2026-06-20"))
		r, err := f.Forecast(p, reforecast.Offers{})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(strings.Join(r.Notices, "\n"), "taken as arrived"); got != tt.taken {
			t.Errorf("due %q: taken as arrived %v", tt.due, got)
		}
	}
}

// An open job is overspent where it has cost more than such a job does on average, however unlikely it was: a job that
// had a chance of 18% is not held against 18% of its price.
func TestOverspentIsAgainstTheWholeJob(t *testing.T) {
	workshop := starter(t)
	f := forecaster(t, workshop, 1024, lot(t, "nose c3; under s2?18"))
	at := damage.Spot{Zone: damage.Under, Class: damage.Structural}
	for _, share := range []float64{0.5, 0.9, 1.1} {
		p := reforecast.Progress{Jobs: []reforecast.Job{{Spot: at, Found: 2, Spend: 1, HasSpend: true}}}
		usual := lineOf(t, f, p, at).Usual
		p.Jobs[0].Spend = share * usual
		l := lineOf(t, f, p, at)
		if l.Usual < 3*l.Start.Mean || l.Over != (share > 1) {
			t.Errorf("%.0f of %.0f, expected %.0f: over %v", l.Actual, l.Usual, l.Start.Mean, l.Over)
		}
	}
}

func lineOf(t *testing.T, f *reforecast.Forecaster, p reforecast.Progress, at damage.Spot) reforecast.Line {
	t.Helper()
	r, err := f.Forecast(p, reforecast.Offers{})
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range r.Jobs {
		if l.Spot == at {
			return l
		}
	}
	t.Fatalf("no line of %s", at)
	return reforecast.Line{}
}

// A look at the panels of a car that stands at a sale is not offered once it is taken apart; a reading of its fault
// codes, and a look on a ramp, still are.
func TestNoLookAtWhatTheStripHasShown(t *testing.T) {
	workshop := starter(t)
	workshop.Inspections = []shop.Inspection{
		{Name: "by eye", Finds: 0.8, Visit: true},
		{Name: "codes", Finds: 0.8, Visit: true, Classes: []damage.Class{damage.Electrical, damage.Restraint}},
		{Name: "ramp", Finds: 0.8},
	}
	f := forecaster(t, workshop, 1024, lot(t, "nose c2; bay m4?50 e3?50"))
	offer := stats.Fixed(3000)
	nose := damage.Spot{Zone: damage.Nose, Class: damage.Cosmetic}
	for _, tt := range []struct {
		p    reforecast.Progress
		want int
	}{
		{reforecast.Progress{}, 3},
		{reforecast.Progress{Jobs: []reforecast.Job{{Spot: nose, Spend: 50, HasSpend: true}}}, 3},
		{reforecast.Progress{Jobs: []reforecast.Job{{Spot: nose, Hours: 2, HasHours: true}}}, 2},
		{reforecast.Progress{Stripped: true}, 2},
	} {
		r, err := f.Forecast(tt.p, reforecast.Offers{AsItStands: &offer})
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Looks) != tt.want {
			t.Errorf("%+v: %d looks, want %d", tt.p, len(r.Looks), tt.want)
		}
		for _, l := range r.Looks {
			if tt.want == 2 && l.Name == "by eye" {
				t.Error("by eye, on a car that is apart")
			}
		}
	}
}
