package conjugate_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"wreckoner/evaluate/build/conjugate"
	"wreckoner/evaluate/stats"
)

// alone learns without shared errors, and with full weight for everything.
var alone = conjugate.Options{Shop: -1, Class: -1, Odd: -1}

func learn(t testing.TB, rows []conjugate.Row, classes int, seen []conjugate.Observation, o conjugate.Options) conjugate.Table {
	t.Helper()
	table, err := conjugate.Learn(rows, classes, seen, o)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// One row with even sides and nothing shared is the textbook's conjugate normal.
func TestOneRowAloneIsTheTextbook(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		worth := rapid.Float64Range(0.5, 30).Draw(t, "worth")
		half := rapid.Float64Range(0.05, 1.5).Draw(t, "half")
		logs := rapid.SliceOfN(rapid.Float64Range(-2, 2), 1, 15).Draw(t, "logs")
		row := conjugate.Row{Low: 400 * math.Exp(-half), Mid: 400, High: 400 * math.Exp(half), Worth: worth}
		var seen []conjugate.Observation
		for _, y := range logs {
			seen = append(seen, conjugate.Observation{Build: -1, Actual: 400 * math.Exp(y)})
		}
		table, err := conjugate.Learn([]conjugate.Row{row}, 1, seen, alone)
		if err != nil {
			t.Fatal(err)
		}
		prior, err := conjugate.NewNormal(-half, half, worth)
		if err != nil {
			t.Fatal(err)
		}
		next := prior.Update(logs...).Predictive()
		got := table.Rows[0]
		for p, x := range map[float64]float64{0.1: got.Row.Low, 0.5: got.Row.Mid, 0.9: got.Row.High} {
			if want := 400 * math.Exp(next.Quantile(p)); math.Abs(x/want-1) > 1e-7 {
				t.Fatalf("quantile %v: got %v, want %v", p, x, want)
			}
		}
		if got.N != len(logs) || got.Row.Worth != worth+float64(len(logs)) {
			t.Fatalf("got %+v", got)
		}
	})
}

// The same joint posterior by another road: the actuals' covariance, written out
// in full, and the conditional normal (Gelman et al. 2013, Bayesian Data Analysis,
// section 14.2 and appendix A). Worths so large that variances stay put.
func TestSharedErrorsAreTheConditionalNormal(t *testing.T) {
	const worth, link, shop, class = 1e5, 0.3, 0.2, 0.1
	half := 0.4
	rows := make([]conjugate.Row, 3)
	for j := range rows {
		rows[j] = conjugate.Row{Low: math.Exp(-half), Mid: 1, High: math.Exp(half), Worth: worth, Class: j / 2}
	}
	seen := []conjugate.Observation{{0, 1, 1.5}, {1, 1, 1.2}, {2, 1, 0.8}, {0, 2, 1.1}, {2, 2, 1.9}, {1, -1, 1.4}}
	table := learn(t, rows, 2, seen, conjugate.Options{Shop: shop, Class: class, Link: link, Odd: -1})

	prior, err := conjugate.NewNormal(-half, half, worth)
	if err != nil {
		t.Fatal(err)
	}
	s2, even := prior.Variance, half/stats.Z90
	own := s2 / worth
	l2 := own / (own + shop*shop + class*class)
	// Covariance of the shifts of rows j and k.
	shift := func(j, k int) float64 {
		c := l2 * shop * shop
		if rows[j].Class == rows[k].Class {
			c += l2 * class * class
		}
		if j == k {
			c += l2 * own
		}
		return c
	}
	n := len(seen)
	v, y := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for a, o := range seen {
		y.SetVec(a, math.Log(o.Actual))
		for b, p := range seen[:a+1] {
			c := shift(o.Row, p.Row)
			switch {
			case a == b:
				c += link*even*even + (1-link)*s2
			case o.Build == p.Build && o.Build >= 0:
				c += link * even * even
			}
			v.SetSym(a, b, c)
		}
	}
	var solved mat.VecDense
	if err := solved.SolveVec(v, y); err != nil {
		t.Fatal(err)
	}
	for j := range rows {
		want := 0.0
		for a, o := range seen {
			want += shift(j, o.Row) * solved.AtVec(a)
		}
		// Variances move by a few in a hundred thousand.
		near(t, "shift", table.Rows[j].Shift/want, 1, 1e-4)
	}
	near(t, "variance of a row before learning", shift(0, 0), own, 1e-15)
}

func TestNoEvidenceGivesTheRowBack(t *testing.T) {
	rows := []conjugate.Row{
		{220, 420, 850, 8, 0}, {0, 100, 300, 3, 0}, {54.85, 54.85, 54.85, 5, 1}, {700, 950, 1100, 2, 1},
	}
	table := learn(t, rows, 2, nil, conjugate.Options{})
	for j, r := range table.Rows {
		if r.Row != rows[j] || r.N != 0 || r.Spread != 1 || r.Shift != 0 {
			t.Errorf("row %d: got %+v, want it as it was", j, r)
		}
	}
	near(t, "shop's error before learning", table.Shop.SD, 0.2, 1e-12)
	// Others' evidence moves what is believed, not the row.
	seen := []conjugate.Observation{{0, 1, 800}, {0, 2, 900}, {2, 1, 60}, {1, 2, 0}, {1, 2, -30}}
	table = learn(t, rows, 2, seen, conjugate.Options{Link: 0.25})
	for _, j := range []int{1, 2, 3} {
		if table.Rows[j].Row != rows[j] {
			t.Errorf("row %d: got %+v, want it as it was", j, table.Rows[j].Row)
		}
	}
	if !table.Rows[2].Fixed || table.Rows[3].Shift <= 0 || table.Shop.Mean <= 0 {
		t.Errorf("got %+v", table)
	}
	if len(table.Left) != 3 || table.Left[0] != 2 {
		t.Errorf("left out %v, want 2, 3 and 4: a fixed row, a zero and a refund", table.Left)
	}
	if r := table.Rows[0].Row; r.Mid <= 420 || r.Worth != 10 {
		t.Errorf("got %+v, want a dearer row worth 10", r)
	}
}

// Much evidence gives the truth's three points, skew and all, wherever the row has
// the truth's skew: here a truth 40 % over and half as wide again. The actuals
// are the truth's quantiles at even steps.
func TestMuchEvidenceGivesTheTruth(t *testing.T) {
	for _, row := range []conjugate.Row{
		{300, 600, 1200, 4, 0},
		{300, 500, 1400, 4, 0},
		{200, 700, 1100, 4, 0},
	} {
		const n = 20001
		truth := conjugate.Row{
			Low:  1.4 * row.Mid * math.Pow(row.Low/row.Mid, 1.5),
			Mid:  1.4 * row.Mid,
			High: 1.4 * row.Mid * math.Pow(row.High/row.Mid, 1.5),
		}
		var seen []conjugate.Observation
		for i := range n {
			z := math.Sqrt2 * math.Erfinv(2*(float64(i)+0.5)/n-1)
			side := truth.High / truth.Mid
			if z < 0 {
				side = truth.Mid / truth.Low
			}
			seen = append(seen, conjugate.Observation{Build: -1, Actual: truth.Mid * math.Pow(side, z/stats.Z90)})
		}
		got := learn(t, []conjugate.Row{row}, 1, seen, conjugate.Options{Odd: -1}).Rows[0].Row
		near(t, "low", got.Low/truth.Low, 1, 0.002)
		near(t, "mid", got.Mid/truth.Mid, 1, 0.002)
		near(t, "high", got.High/truth.High, 1, 0.002)
	}
}

// Decided: one odd build can't swing a well-founded row.
func TestOneOddBuild(t *testing.T) {
	rows := []conjugate.Row{{220, 420, 850, 20, 0}, {220, 420, 850, 2, 0}, {90, 160, 300, 20, 1}, {300, 500, 900, 20, 1}, {500, 950, 1900, 20, 0}}
	o := conjugate.Options{Link: 0.25}
	// One job at three times its mid moves a row worth 20 builds by under 6 %, one
	// worth 2 by much more.
	for j, most := range map[int]float64{0: 1.06, 1: 1.5} {
		got := learn(t, rows, 2, []conjugate.Observation{{j, 1, 3 * 420}}, o).Rows[j]
		if f := math.Exp(got.Shift); f > most || f < 1.02 {
			t.Errorf("row worth %v: one job at three times its mid moves it by %.3f", rows[j].Worth, f)
		}
	}
	// A slipped digit: ten times the mid pulls less than twice as hard as three times.
	three := learn(t, rows, 2, []conjugate.Observation{{0, 1, 3 * 420}}, o)
	ten := learn(t, rows, 2, []conjugate.Observation{{0, 1, 10 * 420}}, o)
	if a, b := three.Rows[0].Shift, ten.Rows[0].Shift; b > 2*a || len(ten.Odd) != 1 || len(three.Odd) != 0 {
		t.Errorf("three times: %v, ten times: %v, odd %v and %v", a, b, three.Odd, ten.Odd)
	}
	// A build in which everything came to three times its mid. As one build it
	// counts for less than as many.
	var bad, many []conjugate.Observation
	for j, r := range rows {
		bad = append(bad, conjugate.Observation{Row: j, Build: 1, Actual: 3 * r.Mid})
		many = append(many, conjugate.Observation{Row: j, Build: j, Actual: 3 * r.Mid})
	}
	one, several := learn(t, rows, 2, bad, o), learn(t, rows, 2, many, o)
	for j, r := range rows {
		t.Logf("row worth %v: one odd build %.3f, as many builds %.3f", r.Worth, math.Exp(one.Rows[j].Shift), math.Exp(several.Rows[j].Shift))
		if r.Worth == 20 && one.Rows[j].Shift > math.Log(1.12) {
			t.Errorf("row %d: one odd build moves it by %.3f", j, math.Exp(one.Rows[j].Shift))
		}
		if one.Rows[j].Shift >= several.Rows[j].Shift {
			t.Errorf("row %d: one build moves it by %v, as many builds by %v", j, one.Rows[j].Shift, several.Rows[j].Shift)
		}
	}
}

// A shop invented for the simulation: rows with the skews, worths and classes of a
// starter book, of which one class is right and all else truly costs 30 % more.
func newShop() (rows []conjugate.Row, truth []stats.Amount) {
	rows = []conjugate.Row{
		{110, 200, 390, 8, 0}, {220, 400, 780, 6, 0}, {550, 950, 1800, 4, 0},
		{25, 55, 120, 10, 1}, {90, 160, 300, 10, 1}, {300, 500, 900, 8, 1},
		{120, 230, 450, 5, 2}, {850, 1250, 2000, 4, 2},
		{120, 230, 460, 8, 3}, {220, 420, 850, 8, 3}, {500, 950, 1900, 4, 3},
		{30, 80, 190, 8, 4}, {150, 320, 720, 6, 4},
	}
	factors := []float64{1.3, 1, 1.3, 1.3, 1.3}
	for _, r := range rows {
		f := factors[r.Class]
		truth = append(truth, stats.Amount{Low: f * r.Low, Mid: f * r.Mid, High: f * r.High})
	}
	return rows, truth
}

const link = 0.25

// jobs draws scores of one build as the engine does: a factor that all jobs share.
func jobs(rng *rand.Rand) func() float64 {
	z := rng.NormFloat64()
	return func() float64 { return math.Sqrt(link)*z + math.Sqrt(1-link)*rng.NormFloat64() }
}

// Decided: after nine times as many builds as a row is worth its bias is under 3 %
// and its 80 % interval covers 76 to 84 % of fresh jobs.
func TestRowsSeenNineTimesTheirWorth(t *testing.T) {
	rows, truth := newShop()
	const shops, fresh = 200, 200
	bias := make([]float64, len(rows))
	inside := make([]float64, len(rows))
	meanBias, raw := 0.0, 0.0
	for s := range shops {
		rng := rand.New(rand.NewPCG(4, uint64(s)))
		left := make([]int, len(rows))
		for j, r := range rows {
			left[j] = int(9 * r.Worth)
		}
		var seen []conjugate.Observation
		for build := 0; ; build++ {
			score, some := jobs(rng), false
			for j := range rows {
				// About a third of the jobs in any one car.
				if left[j] == 0 || rng.Float64() > 0.3 {
					some = some || left[j] > 0
					continue
				}
				some = true
				left[j]--
				seen = append(seen, conjugate.Observation{Row: j, Build: build, Actual: truth[j].At(score())})
			}
			if !some {
				break
			}
		}
		table := learn(t, rows, 5, seen, conjugate.Options{Link: link})
		for j, got := range table.Rows {
			bias[j] += math.Log(got.Row.Mid/truth[j].Mid) / shops
			learned := stats.Amount{Low: got.Row.Low, Mid: got.Row.Mid, High: got.Row.High}
			meanBias += math.Log(learned.Mean()/truth[j].Mean()) / float64(shops*len(rows))
			for range fresh {
				x := truth[j].At(rng.NormFloat64())
				if x >= got.Row.Low && x <= got.Row.High {
					inside[j] += 1.0 / (shops * fresh)
				}
				if x >= rows[j].Low && x <= rows[j].High {
					raw += 1.0 / float64(shops*fresh*len(rows))
				}
			}
		}
	}
	total := 0.0
	for j := range rows {
		total += inside[j] / float64(len(rows))
		t.Logf("row %d, worth %v: bias %+.2f %%, covers %.1f %%", j, rows[j].Worth, 100*math.Expm1(bias[j]), 100*inside[j])
		if math.Abs(math.Expm1(bias[j])) > 0.03 {
			t.Errorf("row %d: bias %.2f %%", j, 100*math.Expm1(bias[j]))
		}
		if inside[j] < 0.76 || inside[j] > 0.84 {
			t.Errorf("row %d: covers %.1f %%", j, 100*inside[j])
		}
	}
	t.Logf("all rows: bias of the mean %+.2f %%, covers %.1f %%; before learning %.1f %%", 100*math.Expm1(meanBias), 100*total, 100*raw)
	if math.Abs(math.Expm1(meanBias)) > 0.03 {
		t.Errorf("bias of the mean %.2f %%", 100*math.Expm1(meanBias))
	}
}

// A year of work: eight builds of about five jobs each, most rows seen once or
// twice. What is shared must be learned sooner than row by row, nothing may get
// worse, and intervals may not be cut before it is earned.
func TestFewBuilds(t *testing.T) {
	rows, truth := newShop()
	const shops, builds = 400, 8
	var before, after, single, covered, n float64
	for s := range shops {
		rng := rand.New(rand.NewPCG(5, uint64(s)))
		var seen []conjugate.Observation
		for build := range builds {
			score := jobs(rng)
			for j := range rows {
				if rng.Float64() < 0.4 {
					seen = append(seen, conjugate.Observation{Row: j, Build: build, Actual: truth[j].At(score())})
				}
			}
		}
		table := learn(t, rows, 5, seen, conjugate.Options{Link: link})
		lone := learn(t, rows, 5, seen, conjugate.Options{Shop: -1, Class: -1, Link: link})
		for j, got := range table.Rows {
			if got.N == 0 {
				continue
			}
			n++
			before += math.Abs(math.Log(rows[j].Mid / truth[j].Mid))
			after += math.Abs(math.Log(got.Row.Mid / truth[j].Mid))
			single += math.Abs(math.Log(lone.Rows[j].Row.Mid / truth[j].Mid))
			for range 50 {
				if x := truth[j].At(rng.NormFloat64()); x >= got.Row.Low && x <= got.Row.High {
					covered += 1.0 / 50
				}
			}
		}
	}
	t.Logf("mean absolute error on the log scale: before %.3f, row by row %.3f, shared %.3f; covers %.1f %%", before/n, single/n, after/n, 100*covered/n)
	if after >= single || after > 0.75*before {
		t.Errorf("before %.3f, row by row %.3f, shared %.3f", before/n, single/n, after/n)
	}
	if covered/n < 0.74 || covered/n > 0.84 {
		t.Errorf("covers %.1f %%", 100*covered/n)
	}
}

// A book that is right stays right.
func TestARightBookIsLeftAlone(t *testing.T) {
	rows, _ := newShop()
	const shops = 200
	bias := 0.0
	for s := range shops {
		rng := rand.New(rand.NewPCG(6, uint64(s)))
		var seen []conjugate.Observation
		for build := range 20 {
			score := jobs(rng)
			for j, r := range rows {
				if rng.Float64() < 0.4 {
					seen = append(seen, conjugate.Observation{Row: j, Build: build,
						Actual: stats.Amount{Low: r.Low, Mid: r.Mid, High: r.High}.At(score())})
				}
			}
		}
		for _, got := range learn(t, rows, 5, seen, conjugate.Options{Link: link}).Rows {
			bias += got.Shift / float64(shops*len(rows))
		}
	}
	near(t, "bias", bias, 0, 0.015)
}

// The order of rows, builds and observations changes nothing but rounding.
func TestOrderChangesNothing(t *testing.T) {
	rows, truth := newShop()
	rng := rand.New(rand.NewPCG(7, 7))
	var seen []conjugate.Observation
	for build := range 10 {
		score := jobs(rng)
		for j := range rows {
			seen = append(seen, conjugate.Observation{Row: j, Build: build, Actual: truth[j].At(score())})
		}
	}
	o := conjugate.Options{Link: link}
	want := learn(t, rows, 5, seen, o)
	again := learn(t, rows, 5, seen, o)
	rng.Shuffle(len(seen), func(i, j int) { seen[i], seen[j] = seen[j], seen[i] })
	got := learn(t, rows, 5, seen, o)
	for j := range rows {
		if want.Rows[j] != again.Rows[j] {
			t.Errorf("row %d: the same twice gives %+v and %+v", j, want.Rows[j], again.Rows[j])
		}
		near(t, "mid", got.Rows[j].Row.Mid/want.Rows[j].Row.Mid, 1, 1e-7)
		near(t, "spread", got.Rows[j].Spread, want.Rows[j].Spread, 1e-7)
	}
}

// Whatever rows a book may hold and whatever actuals, learning settles, and the
// three points stay in order.
func TestLearningSettles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []conjugate.Row
		for range rapid.IntRange(1, 6).Draw(t, "rows") {
			mid := rapid.Float64Range(1, 5000).Draw(t, "mid")
			down := rapid.Float64Range(0.01, 1).Draw(t, "down")
			up := down * rapid.Float64Range(1/stats.FaultRatio, stats.FaultRatio).Draw(t, "tail")
			rows = append(rows, conjugate.Row{
				Low:   mid * (1 - down),
				Mid:   mid,
				High:  mid * (1 + up),
				Worth: rapid.Float64Range(0.5, 40).Draw(t, "worth"),
				Class: rapid.IntRange(0, 2).Draw(t, "class"),
			})
		}
		var seen []conjugate.Observation
		for range rapid.IntRange(0, 30).Draw(t, "observations") {
			j := rapid.IntRange(0, len(rows)-1).Draw(t, "row")
			seen = append(seen, conjugate.Observation{
				Row: j, Build: rapid.IntRange(-1, 5).Draw(t, "build"),
				Actual: rows[j].Mid * math.Exp(rapid.Float64Range(-4, 4).Draw(t, "log")),
			})
		}
		table, err := conjugate.Learn(rows, 3, seen, conjugate.Options{Link: rapid.Float64Range(0, 0.9).Draw(t, "link")})
		if err != nil {
			t.Fatal(err)
		}
		for j, r := range table.Rows {
			if !(r.Row.Low >= 0 && r.Row.Low <= r.Row.Mid && r.Row.Mid < r.Row.High) {
				t.Fatalf("row %d: %+v became %+v", j, rows[j], r)
			}
		}
	})
}

func TestBadTables(t *testing.T) {
	good := conjugate.Row{1, 2, 3, 4, 0}
	for _, test := range []struct {
		row  conjugate.Row
		seen conjugate.Observation
		o    conjugate.Options
		want string
	}{
		{conjugate.Row{3, 2, 1, 4, 0}, conjugate.Observation{}, conjugate.Options{}, "row 1: low 3, mid 2, high 1: write the three in rising order"},
		{conjugate.Row{-3, 2, 5, 4, 0}, conjugate.Observation{}, conjugate.Options{}, "row 1: -3 is not an amount; write 0 or more"},
		{conjugate.Row{1, 2, 3, 0, 0}, conjugate.Observation{}, conjugate.Options{}, "row 1: a worth of 0 observations; write a number above 0"},
		{conjugate.Row{1, 2, 3, 4, 1}, conjugate.Observation{}, conjugate.Options{}, "row 1: class 1 of 1"},
		{good, conjugate.Observation{Row: 1}, conjugate.Options{}, "observation 1: row 1 of 1"},
		{good, conjugate.Observation{Actual: math.NaN()}, conjugate.Options{}, "observation 1: NaN is not an amount"},
		{good, conjugate.Observation{}, conjugate.Options{Link: 1}, "link 1 is not from 0 to below 1"},
	} {
		_, err := conjugate.Learn([]conjugate.Row{test.row}, 1, []conjugate.Observation{test.seen}, test.o)
		fails(t, err, test.want)
	}
}

func BenchmarkLearn400Builds(b *testing.B) {
	rows, truth := newShop()
	rng := rand.New(rand.NewPCG(8, 8))
	var seen []conjugate.Observation
	for build := range 400 {
		score := jobs(rng)
		for j := range rows {
			if rng.Float64() < 0.4 {
				seen = append(seen, conjugate.Observation{Row: j, Build: build, Actual: truth[j].At(score())})
			}
		}
	}
	for b.Loop() {
		learn(b, rows, 5, seen, conjugate.Options{Link: link})
	}
}
