package learn

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A system is the normal equations of the linear mixed model at given link and scatter: A beta = b, and what the log
// evidence needs beside them (METHOD.md 16.13).
type system struct {
	a    *mat.SymDense // X' C^-1 X, without the prior
	b    []float64     // X' C^-1 r
	rest float64       // sum log D + sum log c + r' C^-1 r
}

// equations sums up the jobs, build by build. In one build the covariance is diag(D) + a a', so that its inverse is
// one rank-one update (Sherman and Morrison 1950).
func (c *costs) equations(r []float64, link, kappa float64) *system {
	p := len(c.prior)
	s := &system{a: mat.NewSymDense(p, nil), b: make([]float64, p)}
	a := s.a.RawSymmetric().Data
	g := make([]float64, p) // X' D^-1 a of one build
	var used []int
	listed := make([]bool, p)
	for i := 0; i < len(c.jobs); {
		car := c.jobs[i].car
		m, v := c.mean[car], c.vari[car]
		one, h := 1.0, 0.0 // 1 + a' D^-1 a; a' D^-1 y
		used = used[:0]
		for ; i < len(c.jobs) && c.jobs[i].car == car; i++ {
			j := &c.jobs[i]
			ks := kappa * j.spread
			d := ks * ks * (1 - link)
			pull := ks * math.Sqrt(link)
			y := r[i] - pull*m
			pull *= math.Sqrt(v)
			s.rest += math.Log(d) + y*y/d
			one += pull * pull / d
			h += pull * y / d
			cols, x := j.columns()
			for k, ck := range cols {
				w := x[k] / d
				s.b[ck] += w * y
				if !listed[ck] {
					used, listed[ck] = append(used, ck), true
				}
				g[ck] += w * pull
				for l, cl := range cols {
					if cl >= ck {
						a[ck*p+cl] += w * x[l]
					}
				}
			}
		}
		s.rest += math.Log(one) - h*h/one
		s.fold(g, used, one, h)
		for _, k := range used {
			g[k], listed[k] = 0, false
		}
	}
	return s
}

// fold takes one build's rank-one update off.
func (s *system) fold(g []float64, used []int, one, h float64) {
	p := len(g)
	a := s.a.RawSymmetric().Data
	for _, i := range used {
		gi := g[i]
		s.b[i] -= gi * h / one
		for _, k := range used {
			if k >= i {
				a[i*p+k] -= gi * g[k] / one
			}
		}
	}
}

// A solution is beta's posterior under some columns; the others are 0 for certain.
type solution struct {
	cols     []int
	beta     []float64 // of all columns
	evidence float64   // log, but for a constant
	chol     mat.Cholesky
}

// solve adds the prior of the columns named and solves for them.
func (s *system) solve(prior []float64, cols []int) *solution {
	n := len(cols)
	out := &solution{cols: cols, beta: make([]float64, len(prior))}
	if n == 0 {
		out.evidence = -0.5 * s.rest
		return out
	}
	a := mat.NewSymDense(n, nil)
	b := mat.NewVecDense(n, nil)
	logPrior := 0.0
	for i, ci := range cols {
		for k := i; k < n; k++ {
			a.SetSym(i, k, s.a.At(ci, cols[k]))
		}
		a.SetSym(i, i, a.At(i, i)+1/prior[ci])
		b.SetVec(i, s.b[ci])
		logPrior += math.Log(prior[ci])
	}
	if !out.chol.Factorize(a) {
		panic(fmt.Sprintf("learn: normal equations of %d columns are not positive definite", n))
	}
	var x mat.VecDense
	if err := out.chol.SolveVecTo(&x, b); err != nil {
		panic("learn: " + err.Error())
	}
	for i, ci := range cols {
		out.beta[ci] = x.AtVec(i)
	}
	out.evidence = -0.5 * (s.rest - mat.Dot(b, &x) + out.chol.LogDet() + logPrior)
	return out
}

// variance returns the variance of one column, 0 where it is 0 for certain.
func (s *solution) variance(col int) float64 {
	i := slices.Index(s.cols, col)
	if i < 0 {
		return 0
	}
	unit, x := mat.NewVecDense(len(s.cols), nil), mat.VecDense{}
	unit.SetVec(i, 1)
	if err := s.chol.SolveVecTo(&x, unit); err != nil {
		panic("learn: " + err.Error())
	}
	return x.AtVec(i)
}

// observed returns the equations with a normal observation of one column beside them; without one where sd is 0.
func (s *system) observed(col int, mean, sd float64) *system {
	if sd == 0 {
		return s
	}
	out := &system{a: mat.NewSymDense(len(s.b), nil), b: slices.Clone(s.b), rest: s.rest + mean*mean/sd/sd}
	out.a.CopySym(s.a)
	out.a.SetSym(col, col, out.a.At(col, col)+1/sd/sd)
	out.b[col] += mean / sd / sd
	return out
}

// covariance returns V of all columns; columns that are 0 for certain have none.
func (s *solution) covariance(p int) *mat.SymDense {
	v := mat.NewSymDense(p, nil)
	if len(s.cols) == 0 {
		return v
	}
	var inv mat.SymDense
	if err := s.chol.InverseTo(&inv); err != nil {
		panic("learn: " + err.Error())
	}
	for i, ci := range s.cols {
		for k := i; k < len(s.cols); k++ {
			v.SetSym(ci, s.cols[k], inv.At(i, k))
		}
	}
	return v
}

// limit adds what stopped cars tell, each as a normal observation that has the slope and the curvature of log Phi at
// beta (METHOD.md 16.18).
func (s *system) limit(limits []limit, beta []float64, kappa float64) {
	for _, l := range limits {
		sd := l.spread * kappa
		mean := 0.0
		for k, x := range l.x {
			mean += x * beta[k]
		}
		z := (mean - l.above) / sd
		lambda := math.Exp(-0.5*z*z - 0.5*math.Log(2*math.Pi) - logNormalCDF(z))
		curvature := lambda * (lambda + z) / sd / sd
		if !(curvature > 1e-12) {
			continue
		}
		y := mean + lambda/sd/curvature
		for i, xi := range l.x {
			s.b[i] += curvature * xi * y
			for k := i; k < len(l.x); k++ {
				s.a.SetSym(i, k, s.a.At(i, k)+curvature*xi*l.x[k])
			}
		}
		s.rest += curvature*y*y - 2*logNormalCDF(z) - curvature*(y-mean)*(y-mean)
	}
}
