package source

import (
	"cmp"
	"slices"
)

// A hold says by how many days the whole is the later for a job that takes some
// days, while the plans of the other jobs stay as they are. nil is that of a job
// that stands alone: all its days.
//
// A job that takes d days makes the whole max(0, d - gap) days later than if it
// took none. The gap hangs on how the others turn out.
type hold struct {
	gaps []weighted // rising, the equal ones merged
	// sums[k] are the weight, and the weight times gap, of the first k gaps.
	sums []struct{ weight, moment float64 }
	// base is the expected length of the whole if the job took no time.
	base float64
	// sampled are the gaps at the points.
	sampled []float64
}

func newHold(gaps []weighted, base float64) *hold {
	slices.SortFunc(gaps, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	h := &hold{base: base, sums: make([]struct{ weight, moment float64 }, 1)}
	for _, g := range gaps {
		if n := len(h.gaps); n > 0 && g.value-h.gaps[n-1].value < 1e-9 {
			h.gaps[n-1].weight += g.weight
			continue
		}
		h.gaps = append(h.gaps, g)
	}
	for i, g := range h.gaps {
		s := h.sums[i]
		s.weight += g.weight
		s.moment += g.weight * g.value
		h.sums = append(h.sums, s)
	}
	return h
}

// days returns the expected days by which the whole is the later.
func (h *hold) days(d float64) float64 {
	if h == nil {
		return d
	}
	k, _ := slices.BinarySearchFunc(h.gaps, d, func(g weighted, d float64) int { return cmp.Compare(g.value, d) })
	return max(0, h.sums[k].weight*d-h.sums[k].moment)
}

// at returns the days by which the whole is the later at a point.
func (h *hold) at(point int, d float64) float64 {
	if h == nil {
		return d
	}
	return max(0, d-h.sampled[point])
}
