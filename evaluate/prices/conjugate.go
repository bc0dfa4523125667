package prices

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// conjugate is the posterior of a weighted linear regression with a normal-inverse-gamma prior, METHOD.md 15.17: y
// = x'beta + e, e ~ N(0, s2 / w); beta | s2 ~ N(mean, s2 (R'R)^-1), s2 ~ InvGamma(a, b). O'Hagan and Forster
// (2004), Kendall's Advanced Theory of Statistics 2B, chapter 11.
type conjugate struct {
	r    *mat.TriDense // upper triangle, R'R the precision over s2
	mean []float64
	a, b float64
}

// A regressionPrior has each coefficient's mean, its sd over the error's sd, and a and b of s2.
type regressionPrior struct {
	mean, sd []float64
	a, b     float64
}

var errSingular = errors.New("prices: two of the regression's columns say the same, so it has no single answer")

// fitConjugate fits by QR of the stacked rows: no normal equations, so that hard problems keep their digits. x(i)
// writes row i into a cleared slice. A nil prior is flat: p(beta, s2) proportional to 1/s2.
func fitConjugate(n, p int, x func(i int, row []float64), y, weight []float64,
	prior *regressionPrior) (*conjugate, error) {
	head := 0
	c := &conjugate{a: -float64(p) / 2}
	if prior != nil {
		head = p
		c.a, c.b = prior.a, prior.b
	}
	stacked := mat.NewDense(max(head+n, p+1), p+1, nil)
	for i := range head {
		stacked.Set(i, i, 1/prior.sd[i])
		stacked.Set(i, p, prior.mean[i]/prior.sd[i])
	}
	for i := range n {
		row := stacked.RawRowView(head + i)
		x(i, row[:p])
		row[p] = y[i]
		w := 1.0
		if weight != nil {
			w = weight[i]
		}
		root := math.Sqrt(w)
		for j := range row {
			row[j] *= root
		}
		c.a += w / 2
	}
	var qr mat.QR
	qr.Factorize(stacked)
	var full mat.Dense
	qr.RTo(&full)
	c.r = mat.NewTriDense(p, mat.Upper, nil)
	c.mean = make([]float64, p)
	for i := range p {
		for j := i; j < p; j++ {
			c.r.SetTri(i, j, full.At(i, j))
		}
		if full.At(i, i) == 0 {
			return nil, errSingular
		}
		c.mean[i] = full.At(i, p)
	}
	last := full.At(p, p)
	c.b += last * last / 2
	blas64.Trsv(blas.NoTrans, c.r.RawTriangular(), blas64.Vector{N: p, Inc: 1, Data: c.mean})
	return c, nil
}

// s2 is the error variance's posterior estimate b/a.
func (c *conjugate) s2() float64 { return c.b / c.a }

// df is the degrees of freedom of all that the posterior says.
func (c *conjugate) df() float64 { return 2 * c.a }

// lever is x'Vx: the variance of x'beta over s2. It overwrites x.
func (c *conjugate) lever(x []float64) float64 {
	blas64.Trsv(blas.Trans, c.r.RawTriangular(), blas64.Vector{N: len(x), Inc: 1, Data: x})
	sum := 0.0
	for _, z := range x {
		sum += z * z
	}
	return sum
}

// scales are the scales of the coefficients' Student t distributions.
func (c *conjugate) scales() []float64 {
	out := make([]float64, len(c.mean))
	for i := range out {
		x := make([]float64, len(c.mean))
		x[i] = 1
		out[i] = math.Sqrt(c.s2() * c.lever(x))
	}
	return out
}
