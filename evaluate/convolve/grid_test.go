package convolve

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate/convolve/vector"
	"wreckoner/evaluate/stats"
)

// engineOf returns an engine of some rows, each spend and hours.
func engineOf(t *testing.T, link float64, amounts ...[2]stats.Amount) *Engine {
	t.Helper()
	var rows []costs.Row
	for i, x := range amounts {
		item := damage.Item{Spot: damage.Spot{Zone: damage.Zone(i)}, Grade: 2}
		rows = append(rows, costs.Row{Item: item, Spend: x[0], Hours: x[1], Builds: 1, Basis: "test"})
	}
	b, err := costs.New(rows, nil)
	if err != nil {
		t.Fatal(err)
	}
	e, err := New(b, link, 0.2)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// worst returns how far the engine's transform of a row is off what want says, by the weights of the nodes, at the
// worst of every seventh frequency of a window, beyond half a scale of a packed part.
func worst(e *Engine, m *measure, rung, row int, want func(z float64, s complex128) complex128) (off float64) {
	known := make([]vector.Single, len(e.central))
	for f := 0; f < maxChunks*chunkSize; f += 7 {
		c := f / chunkSize
		packed := e.chunk(e.spectrum(m, rung, row, c/2), c)
		vector.Mix(known, e.ones, e.never, []vector.Part{{Chance: e.sure, Packed: packed}})
		s := complex(-damping, 2*math.Pi*float64(f)) / complex(windowOf(rung), 0)
		sum := 0.0
		for k, w := range e.central {
			got := complex(float64(known[k].Re[f%chunkSize]), float64(known[k].Im[f%chunkSize]))
			sum += w * max(0, cmplx.Abs(got-want(e.nodes[k+e.skip], s))-0.71*float64(packed.Scale))
		}
		off = max(off, sum)
	}
	return off
}

// The transform of a normal is exp(s mean + s^2 variance / 2): any textbook of probability.
func TestTransformOfANormal(t *testing.T) {
	for _, link := range []float64{0, 0.25, 0.8} {
		e := engineOf(t, link, [2]stats.Amount{{Low: 800, Mid: 1000, High: 1200}, {Low: 17, Mid: 20, High: 23}})
		e.Measure(1, 35, nil)
		if e.row(0).above == 0 {
			t.Fatal("a normal is not followed above the real line")
		}
		sd := (200 + 35*3) / stats.Z90
		for _, width := range []float64{2200, 4000, 9000, 40_000, 300_000} {
			n, _ := rung(width)
			off := worst(e, e.measures[0], n, 0, func(z float64, s complex128) complex128 {
				return cmplx.Exp(s*complex(1700+sd*math.Sqrt(link)*z, 0) + s*s*complex(sd*sd*(1-link)/2, 0))
			})
			if off > 1e-4 {
				t.Errorf("link %v, window %v: the transform is %v off", link, windowOf(n), off)
			}
		}
	}
}

// Other shapes against the integral over the score, by many steps on the real line: no outside source. What has died
// away to a thousandth is nothing.
func TestTransformIsTheIntegral(t *testing.T) {
	hours := stats.Amount{Low: 10, Mid: 15, High: 24}
	shapes := []struct {
		spend, hours stats.Amount
		above        int // the grid
		within       float64
	}{
		{stats.Amount{Low: 110, Mid: 200, High: 390}, hours, gridLevels, 1e-4},
		{stats.Amount{Low: 1500, Mid: 2100, High: 3200}, hours, gridLevels, 1e-4},
		{stats.Amount{Low: 300, Mid: 400, High: 800}, hours, gridLevels, 1e-4},                    // one side 4 times the other
		{stats.Amount{Low: 300, Mid: 320, High: 550}, hours, gridLevels + 1, 1e-4},                // 11.5 times
		{stats.Amount{Low: 500, Mid: 600, High: 650}, hours, gridLevels, 5e-4},                    // to the left
		{stats.Amount{Low: 300, Mid: 500, High: 600}, hours, 0, 1e-3},                             // the same, cut at zero
		{stats.Fixed(0), stats.Amount{Low: 1, Mid: 2, High: 3.5}, gridLevels, 1e-3},               // seldom cut at zero
		{stats.Amount{Low: 0, Mid: 50, High: 300}, hours, 0, 8e-3},                                // often cut
		{stats.Amount{Low: 100, Mid: 300, High: 900, Shape: stats.Triangle}, hours, 0, 5e-3},      // has a corner
		{stats.Amount{Low: 100, Mid: 300, High: 900, Shape: stats.PERT}, stats.Fixed(3), 0, 5e-3}, // has ends
	}
	for i, x := range shapes {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			const link = 0.25
			e := engineOf(t, link, [2]stats.Amount{x.spend, x.hours})
			e.Measure(1, 35, nil)
			if e.row(0).above != x.above {
				t.Errorf("grid %d, want %d", e.row(0).above, x.above)
			}
			const steps, far = 1600, 7.5
			var costs, weights [steps + 1]float64
			for j := range costs {
				u := -far + 2*far*float64(j)/steps
				costs[j] = x.spend.At(u) + 35*x.hours.At(u)
			}
			for _, times := range []float64{1.5, 4, 30} {
				n, _ := rung(times * (x.spend.Mean() + 35*x.hours.Mean()))
				off := worst(e, e.measures[0], n, 0, func(z float64, s complex128) (sum complex128) {
					total := 0.0
					for j := range weights {
						u := -far + 2*far*float64(j)/steps
						weights[j] = math.Exp(-(u - math.Sqrt(link)*z) * (u - math.Sqrt(link)*z) / 2 / (1 - link))
						total += weights[j]
					}
					for j, w := range weights {
						if w > 1e-12*total {
							sum += complex(w/total, 0) * cmplx.Exp(s*complex(costs[j], 0))
						}
					}
					return sum
				})
				if off > x.within {
					t.Errorf("window %v: the transform is %v off", windowOf(n), off)
				}
			}
		})
	}
}

// Tables with series against the functions themselves.
func TestTables(t *testing.T) {
	for x := -3000.3; x < 3000; x += 0.7131 {
		sin, cos := sincosTurns(x)
		if wantSin, wantCos := math.Sincos(2 * math.Pi * x); math.Abs(sin-wantSin)+math.Abs(cos-wantCos) > 2e-9 {
			t.Errorf("sine and cosine of %v turns: %v, %v, want %v, %v", x, sin, cos, wantSin, wantCos)
		}
	}
	for x := float64(leastDamped); x <= mostDamped; x += 0.00917 {
		if got, want := dampedBy(x), math.Exp(-x); math.Abs(got-want) > 1e-9*want {
			t.Errorf("damped by %v: %v, want %v", x, got, want)
		}
	}
}
