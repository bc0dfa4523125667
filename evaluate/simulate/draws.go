// Package simulate is the engine: the worlds in which a car may turn out, the same
// for every lot, and a lot's damage summed over them.
//
// Every number that can vary has a coordinate of its own, whatever the lot, so that two
// lots differ by their damage and not by luck, and so that what a book row costs in each
// world is one vector, computed once. A lot is then a few additions of vectors. The few
// coordinates that matter to every lot are those of a scrambled Sobol' sequence; the
// others are Latin hypercube samples, each from a stream that is keyed by its name, so
// that a class, a zone or a fixed item more leaves the streams of the others as they are.
package simulate

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"io"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"sort"
	"strconv"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

// Coordinates of the points. The ones that matter to every lot come first,
// where Sobol' points are best.
const (
	severityDim = iota
	// ResaleDim drives the resale price, DevaluationDim the marker's share.
	ResaleDim
	DevaluationDim
	// GuideDim drives the hammer price that others bid.
	GuideDim
	// LeadDim stretches the time that parts take, SaleDim is the time to sell.
	LeadDim
	SaleDim

	spotDim = 8
	itemDim = spotDim + damage.SpotCount
	// ShopDim is the first of those left to the shop's fixed items and extras.
	ShopDim = itemDim + damage.ItemCount
)

// ShopDims is how many coordinates there are from ShopDim on that have a number for a
// name; others are had by their names: see Stream.
func ShopDims() int { return shopDims }

const (
	shopDims = 64
	// firstStream is the number of the first stream that was asked for by its name.
	firstStream = ShopDim + shopDims
)

// MaxPoints is the largest number of worlds.
const MaxPoints = 1 << 24

// Settings say which worlds are drawn. All are needed but Factor.
type Settings struct {
	// Points is the number of worlds, a power of two from 64 to MaxPoints.
	Points int
	// Seed picks the scrambling.
	Seed uint64
	// SeverityLink is the correlation, 0 to 1, between the scores of two jobs on
	// one car; HiddenLink that between what occurs.
	SeverityLink, HiddenLink float64
	// Factor maps a share in (0,1) to the severity factor of that rank. Nil is
	// the standard normal; for a build in progress it is what the jobs done say.
	Factor func(p float64) float64
}

// Draws hold the worlds, the same for every lot. Their vectors are made when first needed and
// kept. They are safe for concurrent use.
type Draws struct {
	set  Settings
	book *costs.Table

	dims    []vector
	middles vector   // the scores of the middles of as many strata as there are worlds
	streams struct { // those asked for by their names
		sync.Mutex
		number  map[string]int
		names   []string
		vectors []*vector
	}
	ranked struct { // worlds by rising severity factor
		once   sync.Once
		worlds []int32
	}
	factor      vector
	score       [damage.SpotCount]vector
	occurrences [damage.ItemCount]lazyOccurrence
	misread     [damage.SpotCount]lazyOccurrence
	jobs        [damage.ItemCount]pricedJob
}

// pricedJob is a job with its moments, made when first needed.
type pricedJob struct {
	once    sync.Once
	job     Job
	moments Moments
	steps   [damage.GradeCount]struct { // by the grade seen at the spot, 0 for none
		once  sync.Once
		steps []step
	}
}

// step is what a world costs more where an item takes the place of what was
// seen at its spot.
type step struct{ spend, hours float64 }

type lazyOccurrence struct {
	once sync.Once
	Occurrence
}

type vector struct {
	once   sync.Once
	values []float64
}

func (v *vector) get(n int, fill func([]float64)) []float64 {
	v.once.Do(func() {
		values := make([]float64, n)
		fill(values)
		v.values = values
	})
	return v.values
}

// CheckPoints says what is wrong with a number of points.
func CheckPoints(n int) error {
	if n < 64 || n > MaxPoints || bits.OnesCount(uint(n)) != 1 {
		return fmt.Errorf("%d points: write a power of two from 64 to %d, such as 8192", n, MaxPoints)
	}
	return nil
}

// New returns the draws of these settings with the jobs of the book.
func New(set Settings, b *costs.Table) (*Draws, error) {
	if err := CheckPoints(set.Points); err != nil {
		return nil, err
	}
	for _, link := range []float64{set.SeverityLink, set.HiddenLink} {
		if !(link >= 0 && link <= 1) {
			return nil, fmt.Errorf("a link of %v: write a correlation from 0 to 1", link)
		}
	}
	return &Draws{set: set, book: b, dims: make([]vector, firstStream)}, nil
}

// Points returns the number of worlds.
func (s *Draws) Points() int { return s.set.Points }

// Score returns a standard normal score for each world, those of one coordinate.
// The result is shared: it is not to be changed.
func (s *Draws) Score(dim int) []float64 {
	return s.vector(dim).get(s.set.Points, func(out []float64) { s.scores(dim, out) })
}

// scores fills out with the standard normal scores of one coordinate. All but the few that matter
// to every lot have the middle of each stratum once: those scores are worked out once for all.
func (s *Draws) scores(dim int, out []float64) {
	s.coordinate(dim, out)
	if dim < spotDim {
		for i, u := range out {
			out[i] = distuv.UnitNormal.Quantile(u)
		}
		return
	}
	n := float64(len(out))
	middles := s.middles.get(len(out), func(at []float64) {
		for i := range at {
			at[i] = distuv.UnitNormal.Quantile((float64(i) + 0.5) / n)
		}
	})
	for i, u := range out {
		out[i] = middles[int(u*n)]
	}
}

// Stream returns the number of the coordinate of that name. The same name has the same
// scores in all Draws of one seed and number of points, whatever else was asked for.
func (s *Draws) Stream(name string) int {
	s.streams.Lock()
	defer s.streams.Unlock()
	n, ok := s.streams.number[name]
	if !ok {
		if s.streams.number == nil {
			s.streams.number = map[string]int{}
		}
		n = firstStream + len(s.streams.names)
		s.streams.number[name] = n
		s.streams.names, s.streams.vectors = append(s.streams.names, name), append(s.streams.vectors, new(vector))
	}
	return n
}

// vector returns that of a coordinate.
func (s *Draws) vector(dim int) *vector {
	if dim < firstStream {
		return &s.dims[dim]
	}
	s.streams.Lock()
	defer s.streams.Unlock()
	return s.streams.vectors[dim-firstStream]
}

// name returns that by which the stream of a coordinate is keyed.
func (s *Draws) name(dim int) string {
	switch {
	case dim < itemDim:
		return "spot " + damage.SpotAt(dim-spotDim).String()
	case dim < ShopDim:
		return "item " + damage.ItemAt(dim-itemDim).String()
	case dim < firstStream:
		return "number " + strconv.Itoa(dim-ShopDim)
	}
	s.streams.Lock()
	defer s.streams.Unlock()
	return "name " + s.streams.names[dim-firstStream]
}

// block is how many worlds of nearly the same severity factor share out the strata of
// each coordinate.
const block = 64

// coordinate fills out with one coordinate of the points, in (0,1). Beyond those that
// matter to every lot it is a Latin hypercube sample (McKay, Beckman and Conover 1979,
// Technometrics 21), sliced by the severity factor (Qian 2012, Journal of the American
// Statistical Association 107): each block of worlds whose factors are neighbours has one
// number in each of its strata, and all worlds together one in each of theirs.
func (s *Draws) coordinate(dim int, out []float64) {
	if dim < spotDim {
		uniforms(dim, s.set.Seed, out)
		return
	}
	s.ranked.once.Do(func() {
		s.ranked.worlds = make([]int32, s.set.Points)
		u := make([]float64, s.set.Points)
		uniforms(severityDim, s.set.Seed, u)
		for w, x := range u {
			s.ranked.worlds[int(x*float64(s.set.Points))] = int32(w)
		}
	})
	h := fnv.New64a()
	io.WriteString(h, s.name(dim)) // a hash never fails
	r := rand.New(rand.NewPCG(s.set.Seed, h.Sum64()))
	blocks := len(out) / block
	within := make([][]int, block) // the place of each block within a stratum
	for i := range within {
		within[i] = r.Perm(blocks)
	}
	scale := 1 / float64(len(out))
	for b := range blocks {
		worlds := s.ranked.worlds[b*block : (b+1)*block]
		for i, stratum := range r.Perm(block) {
			out[worlds[i]] = (float64(stratum*blocks+within[stratum][b]) + 0.5) * scale
		}
	}
}

// Severity returns each world's severity factor, shared.
func (s *Draws) Severity() []float64 {
	if s.set.Factor == nil {
		return s.Score(severityDim)
	}
	return s.factor.get(s.set.Points, func(out []float64) {
		uniforms(severityDim, s.set.Seed, out)
		for i, u := range out {
			out[i] = s.set.Factor(u)
		}
	})
}

// SeverityBy returns each world's severity factor where factor maps its rank to it.
func (s *Draws) SeverityBy(factor func(p float64) float64) []float64 {
	out := make([]float64, s.set.Points)
	uniforms(severityDim, s.set.Seed, out)
	for i, u := range out {
		out[i] = factor(u)
	}
	return out
}

// SpotScore returns the score in each world at which a spot's job is read,
// shared.
func (s *Draws) SpotScore(spot damage.Spot) []float64 {
	return s.score[spot.Index()].get(s.set.Points, func(out []float64) {
		s.linked(s.set.SeverityLink, spotDim+spot.Index(), out)
	})
}

// An Occurrence says in which worlds an item occurs. It is shared, and not to be
// changed.
type Occurrence struct {
	// Shares has a share in (0,1) for each world: the item occurs where it
	// exceeds 1 - chance.
	Shares []float64
	// order is the worlds by falling share, falling the shares in that order.
	order   []int32
	falling []float64
}

// Above returns the worlds whose share exceeds miss.
func (t *Occurrence) Above(miss float64) []int32 {
	k := sort.Search(len(t.falling), func(i int) bool { return !(t.falling[i] > miss) })
	return t.order[:k:k]
}

// Occurrence returns that of the item.
func (s *Draws) Occurrence(item damage.Item) *Occurrence {
	t := &s.occurrences[item.Index()]
	t.once.Do(func() {
		t.Shares = make([]float64, s.set.Points)
		s.linked(s.set.HiddenLink, itemDim+item.Index(), t.Shares)
		for i, v := range t.Shares {
			t.Shares[i] = distuv.UnitNormal.CDF(v)
		}
		t.order, t.falling = sorted(t.Shares)
	})
	return &t.Occurrence
}

// Misread returns the occurrence of how a spot's code was misread: it is independent of everything
// else.
func (s *Draws) Misread(spot damage.Spot) *Occurrence {
	t := &s.misread[spot.Index()]
	t.once.Do(func() {
		t.Shares = make([]float64, s.set.Points)
		s.coordinate(s.Stream("misread "+spot.String()), t.Shares)
		t.order, t.falling = sorted(t.Shares)
	})
	return &t.Occurrence
}

// sorted returns the places of the shares by falling share, and the shares in
// that order.
func sorted(shares []float64) (order []int32, falling []float64) {
	type placed struct {
		share float64
		place int32
	}
	all := make([]placed, len(shares))
	for i, u := range shares {
		all[i] = placed{u, int32(i)}
	}
	slices.SortFunc(all, func(a, b placed) int {
		switch {
		case a.share > b.share:
			return -1
		case a.share < b.share:
			return 1
		}
		return cmp.Compare(a.place, b.place)
	})
	order, falling = make([]int32, len(shares)), make([]float64, len(shares))
	for i, x := range all {
		order[i], falling[i] = x.place, x.share
	}
	return order, falling
}

// Bernoulli returns the worlds in which something happens that has this chance, 0 to 1, by one
// coordinate's draws, linked to nothing else.
func (s *Draws) Bernoulli(dim int, chance float64) []int32 {
	shares := make([]float64, s.set.Points)
	s.coordinate(dim, shares)
	var worlds []int32
	for w, u := range shares {
		if u > 1-chance {
			worlds = append(worlds, int32(w))
		}
	}
	return worlds
}

// linked fills out with sqrt(link) Z + sqrt(1 - link) times a score of its own.
func (s *Draws) linked(link float64, dim int, out []float64) {
	a, b := math.Sqrt(link), math.Sqrt(1-link)
	z := s.Severity()
	own := make([]float64, len(out))
	s.scores(dim, own)
	for i := range out {
		out[i] = float64(a*z[i]) + float64(b*own[i])
	}
}

// A Job is what an item costs in each world where it is charged. Its slices are
// shared: they are not to be changed.
type Job struct {
	// Spend in pounds and Hours, before the segment's multipliers.
	Spend, Hours []float64
	// LeadDays is how long its parts take.
	LeadDays float64
}

// Job returns the job that the book has for the item, which must have a row.
func (s *Draws) Job(item damage.Item) Job { return s.job(item).job }

func (s *Draws) job(item damage.Item) *pricedJob {
	j := &s.jobs[item.Index()]
	j.once.Do(func() {
		n, ok := s.book.RowOf(item)
		if !ok {
			panic("world: no row for " + item.String())
		}
		row := s.book.Rows()[n]
		score := s.SpotScore(item.Spot)
		j.job = Job{Spend: make([]float64, len(score)), Hours: make([]float64, len(score)), LeadDays: row.LeadDays}
		spend, hours := row.Spend.Curve(), row.Hours.Curve()
		for i, z := range score {
			j.job.Spend[i], j.job.Hours[i] = spend(z), hours(z)
		}
		j.moments = momentsOf(j.job)
	})
	return j
}

// steps returns, in the order of the item's occurrence, what each world costs more
// where the item takes the place of the grade seen at its spot; 0 is none.
func (s *Draws) steps(item damage.Item, seen damage.Grade) []step {
	j := s.job(item)
	x := &j.steps[seen]
	x.once.Do(func() {
		x.steps = make([]step, s.set.Points)
		var below Job
		if seen > 0 {
			below = s.Job(damage.Item{Spot: item.Spot, Grade: seen})
		}
		for k, w := range s.Occurrence(item).order {
			x.steps[k] = step{j.job.Spend[w], j.job.Hours[w]}
			if seen > 0 {
				x.steps[k].spend -= below.Spend[w]
				x.steps[k].hours -= below.Hours[w]
			}
		}
	})
	return x.steps
}

// Of returns the job of a candidate on its car, before the segment's multipliers. The
// slices are shared where the candidate costs what its row says.
func (s *Draws) Of(c *costs.Candidate) Job {
	job := s.Job(c.Item)
	if c.AsRow() {
		return job
	}
	own := Job{Spend: make([]float64, len(job.Spend)), Hours: make([]float64, len(job.Hours)), LeadDays: job.LeadDays}
	for i, x := range job.Spend {
		own.Spend[i], own.Hours[i] = c.At(x, job.Hours[i])
	}
	return own
}

// MomentsOf returns those of a candidate's job on its car, before the segment's multipliers.
func (s *Draws) MomentsOf(c *costs.Candidate) Moments {
	if c.AsRow() {
		return s.Moments(c.Item)
	}
	return momentsOf(s.Of(c))
}

// Moments are those of a job's spend and hours over the worlds.
type Moments struct {
	meanSpend, meanHours, varSpend, varHours, cov float64
}

// Mean returns that of spend times a plus hours times b.
func (m Moments) Mean(a, b float64) float64 { return a*m.meanSpend + b*m.meanHours }

// SD returns the standard deviation of spend times a plus hours times b.
func (m Moments) SD(a, b float64) float64 {
	return math.Sqrt(max(0, a*a*m.varSpend+2*a*b*m.cov+b*b*m.varHours))
}

// Moments returns those of the item's job.
func (s *Draws) Moments(item damage.Item) Moments { return s.job(item).moments }

func momentsOf(j Job) (m Moments) {
	n := float64(len(j.Spend))
	for i, x := range j.Spend {
		m.meanSpend += x / n
		m.meanHours += j.Hours[i] / n
	}
	for i, x := range j.Spend {
		ds, dh := x-m.meanSpend, j.Hours[i]-m.meanHours
		m.varSpend += ds * ds / n
		m.varHours += dh * dh / n
		m.cov += ds * dh / n
	}
	return m
}
