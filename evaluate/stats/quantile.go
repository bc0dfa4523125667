package stats

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

// A Selector reads a few order statistics of many values without sorting them:
// the values are counted into buckets, and only the buckets that hold a wanted
// rank are sorted. Results are those of a full sort. The zero Selector is ready
// to use; it keeps its memory between calls and is not for concurrent use.
type Selector struct {
	counts [buckets + 1]int32
	slot   [buckets + 1]uint8 // one more than the place in picked, 0 for none
	bucket []uint16           // of each value
	picked []pick
}

const buckets = 1024

// pick is the values of one bucket.
type pick struct {
	bucket int
	before int // how many values are in lower buckets
	values []float64
}

// Quantiles writes the type 7 quantiles of values at the shares ps, ascending
// in [0,1], to out. The values stay as they are. It panics on no values.
func (s *Selector) Quantiles(values, ps, out []float64) {
	if !s.count(values) {
		for i := range ps {
			out[i] = values[0]
		}
		return
	}
	s.quantiles(values, ps, out)
}

// QuantilesAndWorst is Quantiles, and the mean of the smallest share of values
// as Shortfall has it, for little more.
func (s *Selector) QuantilesAndWorst(values, ps, out []float64, share float64) float64 {
	if !s.count(values) {
		for i := range ps {
			out[i] = values[0]
		}
		return values[0]
	}
	s.quantiles(values, ps, out)
	n := share * float64(len(values))
	whole := min(int(n), len(values)-1)
	s.want(whole)
	s.gather(values)
	edge := s.at(whole)
	sum, below := 0.0, 0
	for _, x := range values {
		if x < edge {
			sum += x
			below++
		}
	}
	return (sum + (n-float64(below))*edge) / n
}

func (s *Selector) quantiles(values, ps, out []float64) {
	s.picked = s.picked[:0]
	for _, p := range ps {
		k, frac := position(len(values), p)
		if s.want(k); frac > 0 {
			s.want(k + 1)
		}
	}
	s.gather(values)
	for i, p := range ps {
		k, frac := position(len(values), p)
		if out[i] = s.at(k); frac > 0 {
			out[i] += frac * (s.at(k+1) - out[i])
		}
	}
}

// want asks for the bucket that holds a rank.
func (s *Selector) want(k int) {
	at, before := 0, 0
	for _, p := range s.picked { // go on from the nearest below
		if p.before <= k && p.before >= before {
			at, before = p.bucket, p.before
		}
	}
	for before+int(s.counts[at]) <= k {
		before += int(s.counts[at])
		at++
	}
	if !slices.ContainsFunc(s.picked, func(p pick) bool { return p.bucket == at }) {
		s.pick(at, before)
	}
}

// Rank returns the value of rank k from 0, as in ascending order.
func (s *Selector) Rank(values []float64, k int) float64 {
	if !s.count(values) {
		return values[0]
	}
	s.picked = s.picked[:0]
	s.want(k)
	s.gather(values)
	return s.at(k)
}

// Worst returns the mean of the smallest share of values, as Shortfall does.
func (s *Selector) Worst(values []float64, share float64) float64 {
	return s.QuantilesAndWorst(values, nil, nil, share)
}

// count sorts the values into buckets. It is false where they are all the same.
func (s *Selector) count(values []float64) bool {
	low, high := values[0], values[0]
	for _, x := range values {
		low, high = min(low, x), max(high, x)
	}
	scale := buckets / (high - low)
	if high == low || math.IsInf(scale, 0) {
		return false
	}
	clear(s.counts[:])
	s.bucket = slices.Grow(s.bucket[:0], len(values))[:len(values)]
	for i, x := range values {
		b := min(uint16(int32((x-low)*scale)), buckets)
		s.bucket[i] = b
		s.counts[b]++
	}
	return true
}

// pick asks for the values of a bucket.
func (s *Selector) pick(bucket, before int) {
	n := len(s.picked)
	if n == cap(s.picked) {
		s.picked = append(s.picked, pick{})
	}
	s.picked = s.picked[:n+1]
	s.picked[n] = pick{bucket, before, s.picked[n].values[:0]}
}

// gather finds the values of all buckets asked for, and sorts them.
func (s *Selector) gather(values []float64) {
	clear(s.slot[:])
	for i := range s.picked {
		p := &s.picked[i]
		p.values = p.values[:0]
		s.slot[p.bucket] = uint8(i + 1)
	}
	for i, b := range s.bucket {
		if n := s.slot[b]; n != 0 {
			p := &s.picked[n-1]
			p.values = append(p.values, values[i])
		}
	}
	for i := range s.picked {
		slices.Sort(s.picked[i].values)
	}
}

// at returns the value of rank k, whose bucket was picked.
func (s *Selector) at(k int) float64 {
	for i := range s.picked {
		if p := &s.picked[i]; k >= p.before && k < p.before+len(p.values) {
			return p.values[k-p.before]
		}
	}
	panic("amount: a rank whose bucket was not picked")
}
