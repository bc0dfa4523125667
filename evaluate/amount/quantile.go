package amount

import (
	"math"
	"slices"
)

// Sorted returns quantile p of values in ascending order, p in [0,1]: type 7 of
// Hyndman and Fan (1996), The American Statistician 50, the default of R and
// numpy. It panics on no values.
func Sorted(values []float64, p float64) float64 {
	k, frac := position(len(values), p)
	if frac == 0 {
		return values[k]
	}
	return values[k] + frac*(values[k+1]-values[k])
}

// position returns the rank, from 0, of the order statistic at or below
// quantile p of n values, and the share of the way to the next.
func position(n int, p float64) (int, float64) {
	h := p * float64(n-1)
	k := min(int(h), n-1)
	frac := h - float64(k)
	if k == n-1 {
		frac = 0
	}
	return k, frac
}

// Shortfall returns the mean of the worst share of values, sorted ascending;
// the worst are the smallest. The share lies in (0,1]; at 1 it is the mean. A
// value that the share cuts counts in part.
//
// Expected shortfall: Acerbi and Tasche (2002), Journal of Banking & Finance
// 26, equation 3.2.
func Shortfall(values []float64, share float64) float64 {
	n := share * float64(len(values))
	whole := min(int(n), len(values))
	sum := 0.0
	for _, x := range values[:whole] {
		sum += x
	}
	if part := n - float64(whole); part > 0 && whole < len(values) {
		sum += part * values[whole]
	}
	return sum / n
}

// A Selector reads a few order statistics of many values without sorting them:
// the values are counted into buckets, and only the buckets that hold a wanted
// rank are sorted. Results are those of a full sort. The zero Selector is ready
// to use; it keeps its buffers between calls and is not for concurrent use.
type Selector struct {
	counts [buckets + 1]int32
	picked []float64
}

const buckets = 1024

// Quantiles writes the type 7 quantiles of values at the shares ps, ascending
// in [0,1], to out. The values stay as they are. It panics on no values.
func (s *Selector) Quantiles(values, ps, out []float64) {
	low, scale := s.count(values)
	from := cursor{}
	for i, p := range ps {
		k, frac := position(len(values), p)
		out[i] = s.rank(values, low, scale, k, &from)
		if frac > 0 {
			out[i] += frac * (s.rank(values, low, scale, k+1, &from) - out[i])
		}
	}
}

// Rank returns the value of rank k from 0, as in ascending order.
func (s *Selector) Rank(values []float64, k int) float64 {
	low, scale := s.count(values)
	return s.rank(values, low, scale, k, &cursor{})
}

// Worst returns the mean of the smallest share of values, as Shortfall does.
func (s *Selector) Worst(values []float64, share float64) float64 {
	n := share * float64(len(values))
	whole := min(int(n), len(values))
	edge := s.Rank(values, min(whole, len(values)-1))
	sum, below := 0.0, 0
	for _, x := range values {
		if x < edge {
			sum += x
			below++
		}
	}
	return (sum + (n-float64(below))*edge) / n
}

// cursor remembers the bucket that was sorted last.
type cursor struct {
	bucket int // one more than its number; 0 for none
	before int // values in lower buckets
}

func (s *Selector) count(values []float64) (low, scale float64) {
	low, high := values[0], values[0]
	for _, x := range values {
		if x < low {
			low = x
		}
		if x > high {
			high = x
		}
	}
	if scale = buckets / (high - low); high == low || math.IsInf(scale, 0) {
		scale = 0
	}
	clear(s.counts[:])
	for _, x := range values {
		s.counts[int32((x-low)*scale)]++
	}
	return low, scale
}

func (s *Selector) rank(values []float64, low, scale float64, k int, at *cursor) float64 {
	if scale == 0 {
		return low
	}
	bucket, before := 0, 0
	for before+int(s.counts[bucket]) <= k {
		before += int(s.counts[bucket])
		bucket++
	}
	if at.bucket != bucket+1 {
		s.picked = s.picked[:0]
		for _, x := range values {
			if int((x-low)*scale) == bucket {
				s.picked = append(s.picked, x)
			}
		}
		slices.Sort(s.picked)
		at.bucket, at.before = bucket+1, before
	}
	return s.picked[k-at.before]
}
