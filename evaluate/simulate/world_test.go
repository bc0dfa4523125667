package simulate_test

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	montanaflynn "github.com/montanaflynn/stats"
	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// one returns draws in which each item costs what is given, and the case in
// which each occurs with its chance, all at spots of their own.
func one(t testing.TB, set simulate.Settings, items []priced) (*simulate.Draws, costs.Case) {
	t.Helper()
	var rows []costs.Row
	var found []costs.Finding
	for i, x := range items {
		item := damage.Item{Spot: damage.Spot{Zone: damage.Zone(i % damage.ZoneCount),
			Class: damage.Class(i / damage.ZoneCount)}, Grade: 2}
		state := damage.Suspected
		if x.Chance == 1 {
			state = damage.Seen
		}
		rows = append(rows, costs.Row{Item: item, Spend: x.spend, Hours: x.hours, LeadDays: x.lead, Builds: 1, Basis: "test"})
		found = append(found, costs.Finding{Item: item, State: state, Chance: x.Chance})
	}
	b, err := costs.New(rows, nil)
	if err != nil {
		t.Fatal(err)
	}
	draws, err := simulate.New(set, b)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", found)
	if err != nil {
		t.Fatal(err)
	}
	return draws, c
}

func spends(t *simulate.Totals) []float64 {
	out := make([]float64, len(t.Sums))
	for i, sum := range t.Sums {
		out[i] = sum.Spend
	}
	return out
}

type priced struct {
	Chance       float64
	spend, hours stats.Amount
	lead         float64
}

func relative(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance*math.Abs(want) {
		t.Errorf("%s = %.6g, want %.6g within %g %%", what, got, want, 100*tolerance)
	}
}

// The whole engine against published sums of correlated lognormals with hidden
// items; see the source line in testdata/sums.json.
func TestSumsOfCorrelatedLognormals(t *testing.T) {
	text, err := os.ReadFile("testdata/sums.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Cases []struct {
			ID                     string
			Link, Fixed, Threshold float64
			Items                  []struct{ Chance, P10, P50, P90 float64 }
			Want                   map[string]float64
		}
	}
	if err := json.Unmarshal(text, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 12 {
		t.Fatalf("%d cases, want 12", len(file.Cases))
	}
	for i, c := range file.Cases {
		if testing.Short() && i%4 > 0 {
			continue
		}
		var items []priced
		for _, x := range c.Items {
			a, err := stats.New(x.P10, x.P50, x.P90, stats.Skewed)
			if err != nil {
				t.Fatal(err)
			}
			items = append(items, priced{Chance: x.Chance, spend: a})
		}
		draws, cs := one(t, simulate.Settings{Points: 1 << 16, Seed: 1, SeverityLink: c.Link, HiddenLink: c.Link}, items)
		var totals simulate.Totals
		totals.Sum(draws, cs)
		total, over := spends(&totals), 0
		for i := range total {
			if total[i] += c.Fixed; total[i] > c.Threshold {
				over++
			}
		}
		mean, err := montanaflynn.Mean(total)
		if err != nil {
			t.Fatal(err)
		}
		sd, err := montanaflynn.StandardDeviationSample(total)
		if err != nil {
			t.Fatal(err)
		}
		slices.Sort(total)
		relative(t, c.ID+" mean", mean, c.Want["mean"], 0.003)
		relative(t, c.ID+" sd", sd, c.Want["sd"], 0.02)
		for name, p := range map[string]float64{"P10": 0.1, "P50": 0.5, "P80": 0.8, "P90": 0.9, "P95": 0.95} {
			relative(t, c.ID+" "+name, stats.Sorted(total, p), c.Want[name], 0.01)
		}
		for i := range total { // the worst tenth is the dearest
			total[i] = -total[i]
		}
		slices.Reverse(total)
		relative(t, c.ID+" ES90", -worstTenth(total), c.Want["ES90"], 0.01)
		if p := float64(over) / float64(len(total)); math.Abs(p-c.Want["P_gt_threshold"]) > 0.002 {
			t.Errorf("%s: %v of worlds above %v, want %v", c.ID, p, c.Threshold, c.Want["P_gt_threshold"])
		}
	}
}

// Closed form: with k equal normal items of correlation r the sd of their sum
// is sqrt(1 + (k - 1) r) times the independent one. Leaving r out understates
// it by 25.46 % (k 5, r 0.2), 40.24 % (10, 0.2), 61.65 % (30, 0.2).
func TestCorrelationWidensTheSum(t *testing.T) {
	for _, tt := range []struct {
		k     int
		r     float64
		under float64
	}{{5, 0.2, 0.2546}, {10, 0.2, 0.4024}, {30, 0.2, 0.6165}} {
		sd := func(link float64) float64 {
			a, err := stats.New(1000-stats.Z90*10, 1000, 1000+stats.Z90*10, stats.Skewed)
			if err != nil {
				t.Fatal(err)
			}
			draws, c := one(t, simulate.Settings{Points: 1 << 14, Seed: 3, SeverityLink: link},
				slices.Repeat([]priced{{Chance: 1, spend: a}}, tt.k))
			var totals simulate.Totals
			totals.Sum(draws, c)
			sd, err := montanaflynn.StandardDeviationSample(spends(&totals))
			if err != nil {
				t.Fatal(err)
			}
			return sd
		}
		if got := 1 - sd(0)/sd(tt.r); math.Abs(got-tt.under) > 0.01 {
			t.Errorf("%d items at %v: understated by %.4f, want %.4f", tt.k, tt.r, got, tt.under)
		}
		relative(t, "independent sd", sd(0), 10*math.Sqrt(float64(tt.k)), 0.02)
	}
}

// US GAO Cost Estimating and Assessment Guide, GAO-20-195G (2020), Table 12:
// seven elements as triangles. Mean, sd, P80 and P90 of the sum computed with
// scipy 1.10.1; the likely values add up to 77,092 (read), which only an eighth
// of all outcomes stay within.
func TestSumOfPublishedTriangles(t *testing.T) {
	var items []priced
	for _, x := range [][3]float64{
		{17955, 19645, 21785}, {8500, 10553, 13000}, {4000, 4306, 5100}, {4100, 4305, 4650}, {550, 600, 650}, {32300, 35547,
			52500}, {1950, 2136, 2600},
	} {
		a, err := stats.New(x[0], x[1], x[2], stats.Triangle)
		if err != nil {
			t.Fatal(err)
		}
		items = append(items, priced{Chance: 1, spend: a})
	}
	for _, tt := range []struct{ link, sd, p80 float64 }{{0, 4599.606, 86446.37}, {0.2, 5062.9, 86841}} {
		draws, c := one(t, simulate.Settings{Points: 1 << 14, Seed: 1, SeverityLink: tt.link}, items)
		var totals simulate.Totals
		totals.Sum(draws, c)
		total := spends(&totals)
		mean, _ := montanaflynn.Mean(total)
		sd, _ := montanaflynn.StandardDeviationSample(total)
		relative(t, "mean", mean, 82244, 0.001)
		relative(t, "sd", sd, tt.sd, 0.01)
		slices.Sort(total)
		relative(t, "P80", stats.Sorted(total, 0.8), tt.p80, 0.002)
		if tt.link == 0 {
			relative(t, "P90", stats.Sorted(total, 0.9), 88909.99, 0.002)
			within := 0
			for _, x := range total {
				if x <= 77092 {
					within++
				}
			}
			if p := float64(within) / float64(len(total)); math.Abs(p-0.1258) > 0.004 {
				t.Errorf("P(sum <= 77,092) = %v, want 0.1258", p)
			}
		}
	}
}

// Sobol' points in Gray-code order, in units of 1/65536: SciPy 1.10.1,
// stats.qmc.Sobol(4000, scramble=False), its columns 0, 1, 325,
// which are our dimensions 0, 1, 5.
func TestPointsAreSobols(t *testing.T) {
	want := [][]uint32{
		{0, 0, 0, 0, 0, 0},
		{32768, 32768, 32768, 32768, 32768, 32768},
		{49152, 16384, 49152, 16384, 49152, 16384},
		{16384, 49152, 16384, 49152, 16384, 49152},
		{24576, 24576, 24576, 24576, 24576, 57344},
		{57344, 57344, 57344, 57344, 57344, 24576},
		{40960, 8192, 40960, 8192, 40960, 40960},
		{8192, 40960, 8192, 40960, 8192, 8192},
		{12288, 20480, 12288, 45056, 36864, 45056},
		{45056, 53248, 45056, 12288, 4096, 12288},
		{61440, 4096, 61440, 61440, 20480, 61440},
		{28672, 36864, 28672, 28672, 53248, 28672},
		{20480, 12288, 20480, 53248, 61440, 20480},
		{53248, 45056, 53248, 20480, 28672, 53248},
		{36864, 28672, 36864, 36864, 12288, 4096},
		{4096, 61440, 4096, 4096, 45056, 36864},
	}
	for i, row := range want {
		gray := uint32(i ^ i>>1)
		for k, dim := range []int{0, 1, 5} {
			if got := simulate.Sobol(dim, gray) >> 16; got != row[k] {
				t.Errorf("point %d, dimension %d: %d, want %d", i, dim, got, row[k])
			}
		}
	}
}

// Every coordinate alone is the same evenly spaced numbers, and any two of the
// first coordinates fill every cell of a coarse grid.
func TestPointsAreStratified(t *testing.T) {
	const n = 1024
	b, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	draws, err := simulate.New(simulate.Settings{Points: n, Seed: 7}, b)
	if err != nil {
		t.Fatal(err)
	}
	first := slices.Sorted(slices.Values(draws.Score(0)))
	for dim := 1; dim < simulate.ShopDim+simulate.ShopDims(); dim += 13 {
		if other := slices.Sorted(slices.Values(draws.Score(dim))); !slices.Equal(first, other) {
			t.Errorf("dimension %d has other numbers than the first", dim)
		}
	}
	cells := map[[2]bool]int{}
	for i, x := range draws.Score(0) {
		cells[[2]bool{x > 0, draws.Score(1)[i] > 0}]++
	}
	for cell, count := range cells {
		if count != n/4 {
			t.Errorf("cell %v holds %d points, want %d", cell, count, n/4)
		}
	}
}

// Only the highest grade that occurs is charged, hours follow spend, and lead
// times are kept apart by whether the damage was seen. All of it by hand: two
// fixed rows at one spot, the worse one occurring half the time.
func TestOnlyTheWorstGradeIsCharged(t *testing.T) {
	spot := damage.Spot{Zone: damage.Tail, Class: damage.Structural}
	low, high := damage.Item{Spot: spot, Grade: 2}, damage.Item{Spot: spot, Grade: 3}
	b, err := costs.New([]costs.Row{
		{Item: low, Spend: stats.Fixed(100), Hours: stats.Fixed(2), LeadDays: 5, Builds: 1, Basis: "test"},
		{Item: high, Spend: stats.Fixed(700), Hours: stats.Fixed(9), LeadDays: 12, Builds: 1, Basis: "test"},
	}, []costs.Rule{{When: low, Then: high, Chance: 0.5, Seen: 1, Why: "test"}})
	if err != nil {
		t.Fatal(err)
	}
	draws, err := simulate.New(simulate.Settings{Points: 256, Seed: 1}, b)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", []costs.Finding{{Item: low, Chance: 1}})
	if err != nil {
		t.Fatal(err)
	}
	var totals simulate.Totals
	totals.Sum(draws, c)
	counts := map[string]int{}
	for _, sum := range totals.Sums {
		counts[fmt.Sprint(sum.Spend, sum.Hours, sum.LeadSeen, sum.LeadHidden)]++
	}
	if len(counts) != 2 || counts["100 2 5 0"] != 128 || counts["700 9 0 12"] != 128 {
		t.Errorf("worlds: %v", counts)
	}
	if totals.Charged(0) != 0.5 || totals.Charged(1) != 0.5 || totals.Count(0) != 256 || totals.Count(1) != 128 {
		t.Errorf("charged %v %v, occur %v %v", totals.Charged(0), totals.Charged(1), totals.Count(0), totals.Count(1))
	}
	where := make([]bool, 256)
	if totals.ChargedAt(c, func(i damage.Item) bool { return i.Grade >= 3 }, where) {
		t.Error("grade 3 in every world")
	}
	for w, yes := range where {
		if yes != (totals.Sums[w].Spend == 700) {
			t.Fatalf("world %d: charged %v, spend %v", w, yes, totals.Sums[w].Spend)
		}
	}
	if !totals.ChargedAt(c, func(damage.Item) bool { return true }, where) {
		t.Error("not something in every world")
	}
}

// A hidden candidate's chance by hand: with probability 0.4 the trigger's worse
// grade is there and the rule says 0.6, else 0.3; another trigger brings 0.5 on
// its own: 1 - 0.5 (0.6 x 0.7 + 0.4 x 0.4) = 0.71.
func TestHiddenChances(t *testing.T) {
	at := func(zone damage.Zone, class damage.Class, grade damage.Grade) damage.Item {
		return damage.Item{Spot: damage.Spot{Zone: zone, Class: class}, Grade: grade}
	}
	rows := []costs.Row{}
	for _, x := range []damage.Item{at(damage.Nose, damage.Structural, 2), at(damage.Nose, damage.Structural, 3),
		at(damage.Tail, damage.Cosmetic, 1), at(damage.Bay, damage.Mechanical, 1)} {
		rows = append(rows, costs.Row{Item: x, Spend: stats.Fixed(1), Builds: 1, Basis: "test"})
	}
	b, err := costs.New(rows, []costs.Rule{
		{When: rows[0].Item, Then: rows[3].Item, Chance: 0.3, Seen: 1, Why: "test"},
		{When: rows[1].Item, Then: rows[3].Item, Chance: 0.6, Seen: 1, Why: "test"},
		{When: rows[2].Item, Then: rows[3].Item, Chance: 0.5, Seen: 1, Why: "test"},
	})
	if err != nil {
		t.Fatal(err)
	}
	draws, err := simulate.New(simulate.Settings{Points: 1 << 16, Seed: 5}, b)
	if err != nil {
		t.Fatal(err)
	}
	c, err := b.Case("", []costs.Finding{{Item: rows[0].Item, Chance: 1}, {Item: rows[1].Item, State: damage.Suspected,
		Chance: 0.4}, {Item: rows[2].Item, Chance: 1}})
	if err != nil {
		t.Fatal(err)
	}
	var totals simulate.Totals
	totals.Sum(draws, c)
	for i, x := range c {
		if x.Kind == costs.Hidden {
			if got := float64(totals.Count(i)) / float64(draws.Points()); math.Abs(got-0.71) > 0.002 {
				t.Errorf("%s occurs in %v of worlds, want 0.71", x.Item, got)
			}
		}
	}
}

// The worlds in which a rare item occurs hold a fair sample of the severity
// factor: the scatter of its mean over seedings stays below that of as many
// random draws, for every item, at the default number of points.
func TestRareItemsMeetAFairSample(t *testing.T) {
	b, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	const points, chance, seedings = 4096, 0.05, 12
	worst, sum, items := 0.0, 0.0, 0
	for at := 3; at < simulate.ShopDim; at += 11 {
		square := 0.0
		for seed := uint64(1); seed <= seedings; seed++ {
			draws, err := simulate.New(simulate.Settings{Points: points, Seed: seed}, b)
			if err != nil {
				t.Fatal(err)
			}
			worlds, mean := draws.Bernoulli(at, chance), 0.0
			for _, w := range worlds {
				mean += draws.Score(0)[w] / float64(len(worlds))
			}
			square += mean * mean / seedings
		}
		ratio := math.Sqrt(square * chance * points)
		worst, sum, items = max(worst, ratio), sum+ratio, items+1
	}
	t.Logf("of the scatter of random draws: mean %.2f, worst %.2f over %d dimensions", sum/float64(items), worst, items)
	if worst > 1 || sum/float64(items) > 0.5 {
		t.Errorf("scatter of %.2f on average and %.2f at worst of that of random draws", sum/float64(items), worst)
	}
}

func BenchmarkSum(b *testing.B) {
	a, err := stats.New(200, 400, 900, stats.Skewed)
	if err != nil {
		b.Fatal(err)
	}
	items := slices.Concat(slices.Repeat([]priced{{Chance: 1, spend: a, hours: a}}, 4),
		slices.Repeat([]priced{{Chance: 0.25, spend: a, hours: a}}, 12))
	draws, c := one(b, simulate.Settings{Points: 4096, Seed: 1, SeverityLink: 0.25, HiddenLink: 0.25}, items)
	var totals simulate.Totals
	totals.Sum(draws, c)
	for b.Loop() {
		totals.Sum(draws, c)
	}
}

// A stream is keyed by its name: whatever else was asked for, and in whatever order, the
// same name has the same scores, and every name others. Each is as evenly spread within
// worlds of nearly the same severity factor as it is in all.
func TestStreamsAreKeyedByName(t *testing.T) {
	const n = 1024
	b, err := costs.New(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	draws := func(seed uint64) *simulate.Draws {
		s, err := simulate.New(simulate.Settings{Points: n, Seed: seed}, b)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	one, two := draws(7), draws(7)
	names := []string{"fixed valet", "fixed test", "extra keys", "unknown keys"}
	for i := range names {
		one.Stream(names[i])
		two.Stream(names[len(names)-1-i])
	}
	seen := map[float64]string{}
	for _, name := range names {
		x := one.Score(one.Stream(name))
		if !slices.Equal(x, two.Score(two.Stream(name))) {
			t.Errorf("%s has other scores where others were asked for first", name)
		}
		other := draws(8)
		if slices.Equal(x, other.Score(other.Stream(name))) {
			t.Errorf("%s has the same scores with another seed", name)
		}
		sum := 0.0
		for i, z := range x[:16] {
			sum += z * float64(i+1)
		}
		if twin := seen[sum]; twin != "" {
			t.Errorf("%s has the scores of %s", name, twin)
		}
		seen[sum] = name

		hit := one.Severity()
		order := make([]int, n)
		for w := range order {
			order[w] = w
		}
		slices.SortFunc(order, func(a, b int) int { return cmp.Compare(hit[a], hit[b]) })
		for from := 0; from < n; from += 64 {
			var strata [64]bool
			for _, w := range order[from : from+64] {
				strata[int(64*distuv.UnitNormal.CDF(x[w]))] = true
			}
			if slices.Contains(strata[:], false) {
				t.Fatalf("%s: the block from %d misses a stratum", name, from)
			}
		}
	}
	// Scores of two places on the car as they were first drawn: a zone or a class more,
	// wherever in the vocabulary, must not move them.
	for _, pin := range []struct {
		at   damage.Spot
		want [2]float64
	}{
		{damage.Spot{Zone: damage.Nose, Class: damage.Structural}, [2]float64{-1.35080529181744, -1.88396054536007}},
		{damage.Spot{Zone: damage.Tail, Class: damage.Electrical}, [2]float64{-0.580580174097261, 0.385056828304218}},
	} {
		if x := one.SpotScore(pin.at); math.Abs(x[0]-pin.want[0]) > 1e-12 || math.Abs(x[1]-pin.want[1]) > 1e-12 {
			t.Errorf("%s: %.15g, %.15g, want %v", pin.at, x[0], x[1], pin.want)
		}
	}
}

// worstTenth is the mean of the lowest tenth of a sorted sample of a multiple of ten.
func worstTenth(sorted []float64) float64 {
	m, _ := montanaflynn.Mean(sorted[:len(sorted)/10])
	return m
}
