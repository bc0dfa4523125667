package stats_test

import (
	"testing"

	"wreckoner/evaluate/stats"
)

// Source: Newcombe (1998), Statistics in Medicine 17, 857-872, Table I, method 3,
// read as quoted in public test suites and confirmed with R and scipy.
func TestWilsonIsNewcombes(t *testing.T) {
	for _, test := range []struct {
		inside, n int
		low, high float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0, 0.1611},
		{1, 29, 0.0061, 0.1718},
	} {
		p, err := stats.Wilson(test.inside, test.n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "low", p.Low, test.low, 0.00005)
		near(t, "high", p.High, test.high, 0.00005)
		// What is true of a share is true of its complement.
		q, err := stats.Wilson(test.n-test.inside, test.n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "complement", q.Low, 1-p.High, 1e-12)
		near(t, "complement", q.High, 1-p.Low, 1e-12)
	}
}

func TestWilsonAtTheEnds(t *testing.T) {
	p, err := stats.Wilson(0, 0, 0.95)
	if err != nil || p.Low != 0 || p.High != 1 {
		t.Errorf("of nothing: got %+v, %v, want from 0 to 1", p, err)
	}
	if p, err = stats.Wilson(7, 7, 0.9); err != nil || p.High != 1 || p.Low < 0.6 {
		t.Errorf("7 of 7: got %+v, %v", p, err)
	}
	_, err = stats.Wilson(3, 2, 0.95)
	fails(t, err, "3 of 2 is not a share; count between none and all")
	_, err = stats.Wilson(1, 2, 95)
	fails(t, err, "confidence 95 is not between 0 and 1; write 0.95 for 95%")
}

func TestCoverageCountsItsEdges(t *testing.T) {
	p, err := stats.Coverage([]float64{0.05, 0.0999, 0.1, 0.5, 0.9, 0.90001, 1}, 0.8, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	if p.Inside != 3 || p.N != 7 {
		t.Errorf("got %d of %d inside 0.1 to 0.9, want 3 of 7", p.Inside, p.N)
	}
	_, err = stats.Coverage([]float64{0.5, 1.2}, 0.8, 0.95)
	fails(t, err, "percentile 2 is 1.2; percentiles lie between 0 and 1")
}
