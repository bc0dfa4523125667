package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Proportion is a share of a few cases, with the interval of the long-run share.
type Proportion struct {
	// Inside is the number of cases that count, of N.
	Inside, N int
	// Share is Inside over N; 0 where N is 0.
	Share float64
	// Low and High bound the long-run share, both between 0 and 1.
	Low, High float64
	// Confidence is the level of Low to High, between 0 and 1.
	Confidence float64
}

// Wilson returns the share inside of n with its score interval at a confidence
// between 0 and 1, such as 0.95. With n = 0 nothing is known and the interval
// runs from 0 to 1. It fails where inside is not between 0 and n.
//
// Wilson (1927), Journal of the American Statistical Association 22, 209-212;
// method 3 of Newcombe (1998), Statistics in Medicine 17, 857-872.
func Wilson(inside, n int, confidence float64) (Proportion, error) {
	if n < 0 || inside < 0 || inside > n {
		return Proportion{}, fmt.Errorf("%d of %d is not a share; count between none and all", inside, n)
	}
	if !(confidence > 0 && confidence < 1) {
		return Proportion{}, fmt.Errorf("confidence %v is not between 0 and 1; write 0.95 for 95%%", confidence)
	}
	p := Proportion{Inside: inside, N: n, High: 1, Confidence: confidence}
	if n == 0 {
		return p, nil
	}
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	size := float64(n)
	p.Share = float64(inside) / size
	centre := (p.Share + z*z/(2*size)) / (1 + z*z/size)
	half := z / (1 + z*z/size) * math.Sqrt(p.Share*(1-p.Share)/size+z*z/(4*size*size))
	p.Low, p.High = max(0, centre-half), min(1, centre+half)
	// Exact at the ends, where rounding leaves a trace.
	if inside == 0 {
		p.Low = 0
	}
	if inside == n {
		p.High = 1
	}
	return p, nil
}

// Coverage returns the share of percentiles, each between 0 and 1, that lie in
// the central interval of a level (0.8: from 0.1 to 0.9, ends included), with
// its Wilson interval. Of honest intervals the long-run share is the level.
func Coverage(percentiles []float64, level, confidence float64) (Proportion, error) {
	if !(level > 0 && level < 1) {
		return Proportion{}, fmt.Errorf("level %v is not between 0 and 1; write 0.8 for 80%%", level)
	}
	if err := checkPercentiles(percentiles); err != nil {
		return Proportion{}, err
	}
	inside := 0
	for _, u := range percentiles {
		// A percentile on the edge counts, whatever 0.9 - 0.5 rounds to.
		if math.Abs(u-0.5) <= level/2+1e-12 {
			inside++
		}
	}
	return Wilson(inside, len(percentiles), confidence)
}

func checkPercentiles(percentiles []float64) error {
	for i, u := range percentiles {
		if !(u >= 0 && u <= 1) {
			return fmt.Errorf("percentile %d is %v; percentiles lie between 0 and 1", i+1, u)
		}
	}
	return nil
}
