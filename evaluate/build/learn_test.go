package build_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// workshop is a small shop: one row for each thing, two kinds of car, three rules.
func workshop(t testing.TB) *shop.Shop {
	t.Helper()
	row := func(name string, low, mid, high, builds float64) costs.Row {
		return costs.Row{
			Item: item(t, name), Spend: stats.Amount{Low: low, Mid: mid, High: high}, Hours: stats.Amount{Low: low / 20,
				Mid: mid / 20, High: high / 20},
			Builds: builds, Basis: "paper",
		}
	}
	rule := func(when, then string, chance, seen float64) costs.Rule {
		return costs.Rule{When: item(t, when), Then: item(t, then), Chance: chance, Seen: seen, Why: "paper"}
	}
	s := paper(t, false)
	var err error
	s.Costs, err = costs.New(
		[]costs.Row{row("nose s2", 300, 500, 900, 40), row("nose s3", 600, 1000, 1800, 4), row("bay m1", 150, 250, 450, 4),
			row("bay m2", 300, 500, 900, 4), row("tail c1", 40, 60, 90, 4), row("side-near e1", 60, 100, 180, 4)},
		[]costs.Rule{rule("nose s2", "bay m1", 0.2, 8), rule("tail c1", "bay m1", 0.5, 4)},
	)
	if err != nil {
		t.Fatal(err)
	}
	s.Segments = append(s.Segments, shop.Segment{Name: "prestige", Spend: 2.5, Hours: 1.25})
	return s
}

// built freezes a car of a segment and a code, and lets it turn out by ledger rows of a build called car.
func built(t testing.TB, workshop *shop.Shop, name, segment, code, rows string) *build.Outcome {
	t.Helper()
	return builtOf(t, workshop, name, &evaluate.Lot{Number: "1", Segment: segment, Category: "S", Value: 2000000,
		Code: parse(t, code)}, rows)
}

// builtOf is built of any lot.
func builtOf(t testing.TB, workshop *shop.Shop, name string, lot *evaluate.Lot, rows string) *build.Outcome {
	t.Helper()
	f, err := build.Freeze(newEvaluator(t, workshop, evaluate.Options{Points: 64}), lot, 200000, name, "test")
	if err != nil {
		t.Fatal(err)
	}
	b, ok := readLedger(t, strings.ReplaceAll(rows, "car,", name+",")+name+",,,,,sale,9000,,\n").Build(name)
	if !ok {
		t.Fatal("no build")
	}
	o, err := build.Compare(f, b)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

func parse(t testing.TB, text string) damage.Code {
	t.Helper()
	c, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func lesson(t testing.TB, workshop *shop.Shop, outcomes ...*build.Outcome) *build.Lesson {
	t.Helper()
	l, err := build.Learn(workshop, outcomes)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A job that costs exactly its row's mid on this kind of car says that nothing is off, whatever the kind: its cost is
// held against the row times what the car multiplies it by.
func TestJobsAreHeldAgainstTheirRow(t *testing.T) {
	workshop := workshop(t)
	for segment, rows := range map[string]string{
		"family":   "car,,nose,s,2,leg,500,25,done\ncar,,bay,m,,looked,,,clear\n",
		"prestige": "car,,nose,s,2,leg,1250,31.25,done\ncar,,bay,m,,looked,,,clear\n",
	} {
		l := lesson(t, workshop, built(t, workshop, "a", segment, "nose s2", rows))
		if math.Abs(l.Rows[0].Shift) > 0.02 || l.Rows[0].Jobs != 1 || len(l.Aside) > 0 || len(l.Left) > 0 {
			t.Errorf("%s: row %+v, aside %v, left %v", segment, l.Rows[0], l.Aside, l.Left)
		}
	}
	l := lesson(t, workshop, built(t, workshop, "a", "prestige", "nose s2", "car,,nose,s,2,leg,2500,62.5,done\n"))
	if l.Rows[0].Shift < 0.05 {
		t.Errorf("twice its row moved it by %v", l.Rows[0].Shift)
	}

	// Of a row of which 0.4 costs the same on every car, spend is 1 + 0.6 x 1.5 = 1.9 times as much (METHOD.md 5.3).
	rows := slices.Clone(workshop.Costs.Rows())
	rows[0].Common = 0.4
	common := *workshop
	var err error
	if common.Costs, err = costs.New(rows, workshop.Costs.Rules()); err != nil {
		t.Fatal(err)
	}
	l = lesson(t, &common, built(t, &common, "a", "prestige", "nose s2", "car,,nose,s,2,leg,950,31.25,done\n"))
	if math.Abs(l.Rows[0].Shift) > 0.005 || l.Rows[0].Jobs != 1 {
		t.Errorf("a row that is common in part: %+v", l.Rows[0])
	}
}

// What cannot be learned from says so, and why; the rest of the build counts.
func TestNothingIsLeftOutInSilence(t *testing.T) {
	workshop := workshop(t)
	for _, tt := range []struct {
		why, rows string
		reason    learn.Reason
		jobs      int
	}{
		{"no grade", "car,,nose,s,,leg,500,25,done\n", learn.NoGrade, 0},
		{"hours alone are not the whole cost", "car,,nose,s,2,leg,,25,done\n", learn.NoCost, 0},
		{"money back beyond what was paid", "car,,nose,s,2,leg,100,20,\ncar,,nose,s,,sent back,-130,,done\n", learn.Negative,
			0},
		{"no row", "car,,nose,s,2,leg,500,25,done\ncar,,under,m,3,axle,900,9,done\n", learn.NoRow, 1},
		{"found and clear", "car,,nose,s,2,leg,500,25,\ncar,,nose,s,,looked,,,clear\n", learn.Contradiction, 0},
		{"clear, then found", "car,,bay,m,,looked,,,clear\ncar,,bay,m,1,hose,250,12.5,done\n", learn.Contradiction, 0},
	} {
		l := lesson(t, workshop, built(t, workshop, "a", "family", "nose s2", tt.rows))
		found := false
		for _, a := range l.Aside {
			found = found || a.Reason == tt.reason
		}
		if !found || l.Jobs != tt.jobs {
			t.Errorf("%s: %v, %d jobs", tt.why, l.Aside, l.Jobs)
		}
	}
	// Clear from a grade above the one that was found is no contradiction.
	l := lesson(t, workshop, built(t, workshop, "a", "family", "nose s2",
		"car,,nose,s,2,leg,500,25,\ncar,,nose,s,3,looked,,,clear\ncar,,nose,s,,done,,,done\n"))
	if len(l.Aside) > 0 || l.Jobs != 1 {
		t.Errorf("clear above what was found: %v, %d jobs", l.Aside, l.Jobs)
	}
	// The same car under two names counts once.
	rows := "car,2025-01-03,nose,s,2,leg,512.34,25,done\n"
	a, b := built(t, workshop, "a", "family", "nose s2", rows), built(t, workshop, "b", "family", "nose s2", rows)
	l = lesson(t, workshop, a, b)
	if len(l.Builds) != 1 || len(l.Aside) != 1 || l.Aside[0].Reason != learn.CountedTwice {
		t.Errorf("counted twice: %v of %v", l.Aside, l.Builds)
	}
	if n := len(l.Revision(nil, []*build.Outcome{a, b}).Learned); n != 1 {
		t.Errorf("%d builds are written as learned from", n)
	}
	if text := build.AsideWords(l.Aside[0]); text != "b: counted twice: one of them counts (its jobs are those of a)" {
		t.Error(text)
	}
}

// A mark counts by what it was coded from; one that has a quote tells nothing of the coding (METHOD.md 16.4). A place
// that is clear from a grade above the lowest may have lesser damage, so that nothing is learned from it.
func TestMarksCountAsTheyWereCoded(t *testing.T) {
	workshop := workshop(t)
	lot := func() *evaluate.Lot {
		return &evaluate.Lot{Number: "1", Segment: "family", Category: "S", Value: 2000000, Code: parse(t, "nose s2")}
	}
	const rows = "car,,nose,s,2,leg,500,25,done\n"
	plain, words, quoted := lot(), lot(), lot()
	words.CodedFrom = evaluate.FromWords
	quoted.Quotes = []evaluate.Quote{{Item: item(t, "nose s2"), Spend: 480, Hours: 20, HasHours: true}}
	for _, tt := range []struct {
		lot  *evaluate.Lot
		want float64
	}{{plain, 1}, {words, evaluate.FromWords.Times()}, {quoted, 0}} {
		l := lesson(t, workshop, builtOf(t, workshop, "a", tt.lot, rows))
		if l.Up.Marks != tt.want || l.Jobs != 1 {
			t.Errorf("coded from %q, %d quotes: %v marks and %d jobs count; %v and 1 are expected", tt.lot.CodedFrom,
				len(tt.lot.Quotes), l.Up.Marks, l.Jobs, tt.want)
		}
	}
	if evaluate.FromWords.Times() == 1 {
		t.Error("words count as photographs do")
	}
	l := lesson(t, workshop, builtOf(t, workshop, "a", lot(), "car,,nose,s,3,looked,,,clear\n"))
	if l.Marks != 0 || len(l.Left) != 1 || !strings.Contains(l.Left[0], "nose s is marked clear from grade 3") {
		t.Errorf("%d marks, left %q", l.Marks, l.Left)
	}
}

// A rule that was looked for counts as many builds as its new chance rests on: 3 x 8 builds' finds at the learned odds
// and those that were made, over 3 times the chance (METHOD.md 16.9, 16.17). A link that is stronger than
// learning works with stays as it is.
func TestWhatIsWritten(t *testing.T) {
	before := workshop(t)
	before.SeverityLink = 1
	var all []*build.Outcome
	for i, hidden := range []string{"bay,m,1,hose,260,13,done", "bay,m,,looked,,,clear", "bay,m,,looked,,,clear"} {
		all = append(all, built(t, before, fmt.Sprint(i), "family", "nose s2",
			fmt.Sprintf("car,,nose,s,2,leg,%d,25,done\ncar,,%s\n", 500+i, hidden)))
	}
	l := lesson(t, before, all...)
	was, now := before.Costs.Rules()[0], l.After.Costs.Rules()[0]
	odds := was.Chance / (1 - was.Chance) * math.Exp(l.Omega.Mean)
	if finds := 3*was.Seen*odds/(1+odds) + 1; now == was || math.Abs(3*now.Seen*now.Chance/finds-1) > 0.01 {
		t.Errorf("rule %+v is written as %+v; it rests on %.2f finds", was, now, finds)
	}
	if l.After.SeverityLink != 1 {
		t.Errorf("a link of 1 is written as %v", l.After.SeverityLink)
	}
}

// A build whose kind of car the shop no longer has is left out, named, and not written as learned from.
func TestACarThatTheShopHasNoPlaceFor(t *testing.T) {
	old := workshop(t)
	a, b := built(t, old, "a", "prestige", "nose s2", "car,,nose,s,2,leg,1250,31,done\n"), built(t, old, "b", "family",
		"nose s2", "car,,nose,s,2,leg,500,25,done\n")
	now := workshop(t)
	now.Segments = now.Segments[:len(now.Segments)-1]
	l := lesson(t, now, a, b)
	if len(l.Builds) != 1 || len(l.Left) != 1 || !strings.Contains(l.Left[0],
		`a: lot 1: the workshop has no car type "prestige": the whole build is left out`) {
		t.Errorf("builds %v, left %q", l.Builds, l.Left)
	}
	if _, err := build.Learn(now, []*build.Outcome{a}); err == nil || !strings.Contains(err.Error(),
		"no build can be learned from") {
		t.Error(err)
	}
}

// After one build no row's mean moves by more than its prior standard deviation, whatever the build cost; its basis
// counts the builds on.
func TestOneBuildMovesALittle(t *testing.T) {
	workshop := workshop(t)
	o := built(t, workshop, "a", "family", "nose s2", "car,,nose,s,2,leg,50000,2000,done\n")
	l := lesson(t, workshop, o)
	old, now := workshop.Costs.Rows()[0], l.After.Costs.Rows()[0]
	s := math.Log(900.0/300) / (2 * 1.2815515655446004)
	limit := math.Sqrt(0.2*0.2 + 0.15*0.15 + s*s/40)
	if move := math.Log(now.Spend.Mean() / old.Spend.Mean()); move < 0.01 || move > limit+0.001 {
		t.Errorf("a hundred times the mid moved the mean by %.3f on the log scale, limit %.3f", move, limit)
	}
	if now.Builds != 41 || now.Basis != "paper; learned from 1 build" {
		t.Errorf("%v, %q", now.Builds, now.Basis)
	}
	again := lesson(t, l.After, built(t, workshop, "b", "family", "nose s2", "car,,nose,s,2,leg,520,25,done\n"),
		built(t, workshop, "c", "family", "nose s2", "car,,nose,s,2,leg,510,25,done\n"))
	if got := again.After.Costs.Rows()[0]; got.Builds != 43 || got.Basis != "paper; learned from 3 builds" {
		t.Errorf("%v, %q", got.Builds, got.Basis)
	}
}

// The order in which builds are given changes nothing.
func TestOrderOfBuildsChangesNothing(t *testing.T) {
	workshop := workshop(t)
	a := built(t, workshop, "a", "family", "nose s2", "car,,nose,s,2,leg,900,40,done\ncar,,bay,m,1,hose,200,10,done\n")
	b := built(t, workshop, "b", "prestige", "tail c1; nose s2?",
		"car,,tail,c,1,trim,150,4,done\ncar,,nose,s,3,leg,3000,60,done\n")
	one, other := lesson(t, workshop, a, b), lesson(t, workshop, b, a)
	for i := range one.Rows {
		if one.Rows[i] != other.Rows[i] {
			t.Errorf("row %d: %+v, %+v", i, one.Rows[i], other.Rows[i])
		}
	}
}

// Estimates frozen by version 1 are learned from by their code and ledger, and named.
func TestVersion1IsLearnedFrom(t *testing.T) {
	text, err := os.ReadFile("testdata/version1/ledger.csv")
	if err != nil {
		t.Fatal(err)
	}
	ledger, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", bytes.NewReader(text)))
	if err != nil {
		t.Fatal(err)
	}
	var all []*build.Outcome
	for _, name := range []string{"101", "112"} {
		file, err := os.ReadFile("testdata/version1/" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		f, err := build.Read(name, bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		b, ok := ledger.Build(f.Build)
		if !ok {
			t.Fatal(f.Build)
		}
		o, err := build.Compare(f, b)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, o)
	}
	l := lesson(t, starter(t, nil), all...)
	if len(l.Builds) != 2 || len(l.Earlier) != 2 || l.Jobs < 6 || len(l.Left) > 0 {
		t.Errorf("builds %v, earlier %v, %d jobs, left %v", l.Builds, l.Earlier, l.Jobs, l.Left)
	}
	if c, err := build.Calibrate(all); err != nil || c.Account.Jobs != l.Jobs {
		t.Errorf("reviewed by the tables of its own: %v, %+v", err, c)
	}
}

// A hundred finished builds that were written and read are learned from and reviewed: how long it takes is logged.
func TestAHundredBuilds(t *testing.T) {
	if testing.Short() {
		t.Skip("freezes a hundred cars")
	}
	workshop := starter(t, nil)
	cars := rebuildable(t, workshop, samples+"sale.csv")
	e := newEvaluator(t, workshop, evaluate.Options{Points: 64})
	all := outcomes(t, e, newTruth(t, workshop, 7), cars, 100, "x")
	var files [][]byte
	for i, o := range all {
		var b bytes.Buffer
		f, err := build.Freeze(e, cars[i%len(cars)], o.Frozen.Hammer, o.Frozen.Build, "test")
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		files = append(files, b.Bytes())
	}
	start := time.Now()
	for i, file := range files {
		f, err := build.Read(all[i].Build.Name, bytes.NewReader(file))
		if err != nil {
			t.Fatal(err)
		}
		all[i].Frozen = f
	}
	read := time.Since(start)
	l := lesson(t, workshop, all...)
	learned := time.Since(start)
	if _, err := build.Calibrate(all); err != nil {
		t.Fatal(err)
	}
	t.Logf("read in %v, learned from in %v, reviewed in %v: %d jobs, %d looks", read, learned-read,
		time.Since(start)-learned, l.Jobs, l.Looks)
	if l.Jobs < 200 || len(l.Builds) != 100 {
		t.Errorf("%d jobs of %d builds", l.Jobs, len(l.Builds))
	}
}

// Review and learning are one account: of builds that were frozen with the workshop's own tables both say the same.
// Where the tables have changed since, review holds each build against its own, and a job that cost exactly the mid of
// the row that it was frozen with is no habit of either.
func TestReviewAndLearningAgree(t *testing.T) {
	now := workshop(t)
	rows := "car,2025-02-01,nose,s,2,leg,700,30,done\ncar,2025-02-03,bay,m,1,hose,260,13,done\n"
	var all []*build.Outcome
	for _, name := range []string{"a", "b", "c", "d"} {
		all = append(all, built(t, now, name, "family", "nose s2; tail c1?", strings.Replace(rows, "700",
			"70"+fmt.Sprint(len(all)), 1)))
	}
	c, err := build.Calibrate(all)
	if err != nil {
		t.Fatal(err)
	}
	l := lesson(t, now, all...)
	for i, h := range l.Habits {
		if x := c.Account.Habits[i]; math.Abs(h.Ratio-x.Ratio) > 1e-9 || h.Fact != x.Fact || h.TooFew != x.TooFew ||
			h.Jobs != x.Jobs {
			t.Errorf("learning says %+v, review %+v", h, x)
		}
	}
	old := scaled(t, now, func(costs.Row) float64 { return 0.5 })
	all = nil
	for i := range 6 {
		with, spend := now, "500"
		if i%2 == 0 {
			with, spend = old, "250"
		}
		hours := map[string]string{"500": "25", "250": "12.5"}[spend]
		name := fmt.Sprint("x", i)
		all = append(all, built(t, with, name, "family", "nose s2",
			fmt.Sprintf("car,2025-0%d-01,,,,bought,,,\ncar,,nose,s,2,leg,%s.0%d,%s,done\n", 1+i, spend, i, hours)))
	}
	if c, err = build.Calibrate(all); err != nil {
		t.Fatal(err)
	}
	if h := c.Account.Habits[damage.Structural]; h.Fact || math.Abs(math.Log(h.Ratio)) > 0.03 || h.Jobs != 6 {
		t.Errorf("jobs that cost what their own rows said: %+v", h)
	}
}

// A car that was given up tells of the code and of what was found, not of costs, but that finishing it would have cost
// more than it was worth: with such a car a row is learned dearer than without it.
func TestACarThatWasGivenUp(t *testing.T) {
	workshop := workshop(t)
	finished := built(t, workshop, "a", "family", "nose s2", "car,2025-01-03,nose,s,2,leg,520,26,done\n")
	given := built(t, workshop, "b", "family", "nose s2",
		"car,2025-02-03,,,,stripped,,,\ncar,2025-02-03,nose,s,3,leg,200,4,\ncar,2025-02-04,,,,stopped,,,\n")
	l := lesson(t, workshop, finished, given)
	if l.Stopped != 1 || l.Jobs != 1 || l.Marks != 2 || len(l.Builds) != 2 {
		t.Errorf("%d stopped, %d jobs, %d marks of %v; aside %v", l.Stopped, l.Jobs, l.Marks, l.Builds, l.Aside)
	}
	if alone := lesson(t, workshop, finished); !(l.Level.Mean > alone.Level.Mean) {
		t.Errorf("level %v with the car that was given up, %v without", l.Level.Mean, alone.Level.Mean)
	}
	c, err := build.Calibrate([]*build.Outcome{finished, given})
	if err != nil || c.Stopped != 1 || c.Builds != 1 || c.Account.Stopped != 1 {
		t.Errorf("%v, %+v", err, c)
	}
}
