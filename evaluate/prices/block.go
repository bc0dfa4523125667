package prices

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// vec3 and sym3 are one model's three coefficients, and a symmetric matrix of them.
type (
	vec3 [3]float64
	mat3 [3][3]float64
)

func dot3(a, b vec3) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func (m *mat3) times(v vec3) vec3 { return vec3{dot3(m[0], v), dot3(m[1], v), dot3(m[2], v)} }

// inverse of a symmetric positive definite matrix, by its Cholesky factor.
func (m *mat3) inverse() (mat3, bool) {
	var l mat3
	for i := range 3 {
		for j := 0; j <= i; j++ {
			s := m[i][j]
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i != j {
				l[i][j] = s / l[j][j]
				continue
			}
			if !(s > 0) {
				return mat3{}, false
			}
			l[i][i] = math.Sqrt(s)
		}
	}
	var inv mat3
	for c := range 3 {
		var x vec3
		x[c] = 1
		for i := range 3 {
			for k := range i {
				x[i] -= l[i][k] * x[k]
			}
			x[i] /= l[i][i]
		}
		for i := 2; i >= 0; i-- {
			for k := i + 1; k < 3; k++ {
				x[i] -= l[k][i] * x[k]
			}
			x[i] /= l[i][i]
		}
		for i := range 3 {
			inv[i][c] = x[i]
		}
	}
	return inv, true
}

// block is the part of one model in the equations: its 3 by 3 matrix, its rows against the shared coefficients, its
// right-hand side; after solving, the inverse pieces, METHOD.md 15.12.
type block struct {
	d     mat3
	cross []vec3 // by shared coefficient
	rhs   vec3

	inv   mat3   // of d
	ratio []vec3 // inv times cross
	mu    vec3   // the solution
	own   mat3   // covariance of the three
	with  []vec3 // covariance with each shared coefficient
}

func newBlock(shared int) *block {
	return &block{cross: make([]vec3, shared), ratio: make([]vec3, shared), with: make([]vec3, shared)}
}

// arrow is a symmetric system of few shared coefficients and many models of three each, that meet only in the
// shared ones.
type arrow struct {
	n      int
	shared []float64 // n by n
	rhs    []float64
	blocks []*block

	mu  []float64
	cov []float64 // n by n
}

func newArrow(n, models int) *arrow {
	a := &arrow{n: n, shared: make([]float64, n*n), rhs: make([]float64, n), mu: make([]float64, n),
		cov: make([]float64, n*n)}
	a.blocks = make([]*block, models)
	for i := range a.blocks {
		a.blocks[i] = newBlock(n)
	}
	return a
}

var errNotDefinite = errors.New("prices: the equations of the adverts are not positive definite")

// solve eliminates each model's three coefficients first (the Schur complement), then solves for the shared ones, and
// puts both solutions and the covariances that rows need in place.
func (a *arrow) solve() error {
	schur := mat.NewSymDense(a.n, nil)
	rhs := mat.NewVecDense(a.n, nil)
	for i := range a.n {
		rhs.SetVec(i, a.rhs[i])
		for j := i; j < a.n; j++ {
			schur.SetSym(i, j, a.shared[i*a.n+j])
		}
	}
	for _, b := range a.blocks {
		if !b.eliminate(schur, rhs) {
			return errNotDefinite
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(schur) {
		return errNotDefinite
	}
	mu, cov := mat.NewVecDense(a.n, a.mu), mat.NewSymDense(a.n, a.cov)
	if err := chol.SolveVecTo(mu, rhs); err != nil {
		return err
	}
	if err := chol.InverseTo(cov); err != nil {
		return err
	}
	for i := range a.n {
		for j := range i {
			a.cov[i*a.n+j] = a.cov[j*a.n+i]
		}
	}
	for _, b := range a.blocks {
		a.finish(b)
	}
	return nil
}

// eliminate takes one model's coefficients out of the shared ones' equations.
func (b *block) eliminate(schur *mat.SymDense, rhs *mat.VecDense) bool {
	inv, ok := b.d.inverse()
	if !ok {
		return false
	}
	b.inv = inv
	for i, c := range b.cross {
		b.ratio[i] = inv.times(c)
	}
	for i, c := range b.cross {
		if c == (vec3{}) {
			continue
		}
		rhs.SetVec(i, rhs.AtVec(i)-dot3(b.ratio[i], b.rhs))
		for j := i; j < len(b.cross); j++ {
			schur.SetSym(i, j, schur.At(i, j)-dot3(c, b.ratio[j]))
		}
	}
	return true
}

// finish puts one model's solution and covariances in place, the shared ones known.
func (a *arrow) finish(b *block) {
	b.mu = b.inv.times(b.rhs)
	for i := range a.n {
		for k := range 3 {
			b.mu[k] -= b.ratio[i][k] * a.mu[i]
		}
	}
	b.own = b.inv
	for i := range a.n {
		var w vec3
		for j, r := range b.ratio {
			c := a.cov[i*a.n+j]
			w[0] -= c * r[0]
			w[1] -= c * r[1]
			w[2] -= c * r[2]
		}
		b.with[i] = w
	}
	for i, r := range b.ratio {
		for k := range 3 {
			for l := range 3 {
				b.own[k][l] -= b.with[i][k] * r[l]
			}
		}
	}
}
