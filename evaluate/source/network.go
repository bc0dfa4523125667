package source

import "slices"

// A network is the jobs of one car and which wait for which.
type network struct {
	before, then [][]int
	// order has every job behind those it waits for.
	order []int
}

// newNetwork returns the network in which job j waits for before[j]; nil where
// some jobs wait for one another in a ring (see Ring).
func newNetwork(before [][]int) *network {
	n := &network{before: before, then: make([][]int, len(before))}
	waits := make([]int, len(before))
	for j, list := range before {
		for _, k := range list {
			n.then[k] = append(n.then[k], j)
			waits[j]++
		}
	}
	for j := range before {
		if waits[j] == 0 {
			n.order = append(n.order, j)
		}
	}
	for i := 0; i < len(n.order); i++ {
		for _, j := range n.then[n.order[i]] {
			if waits[j]--; waits[j] == 0 {
				n.order = append(n.order, j)
			}
		}
	}
	if len(n.order) < len(before) {
		return nil
	}
	return n
}

// Ring returns jobs that wait for one another in a ring, each for the next and
// the last for the first; nil where there is none. before[j] lists the jobs that
// job j waits for.
func Ring(before [][]int) []int {
	const (
		fresh = iota
		open
		done
	)
	state := make([]int, len(before))
	var path, ring []int
	var visit func(j int) bool
	visit = func(j int) bool {
		state[j] = open
		path = append(path, j)
		for _, k := range before[j] {
			if state[k] == open {
				ring = slices.Clone(path[slices.Index(path, k):])
				return true
			}
			if state[k] == fresh && visit(k) {
				return true
			}
		}
		state[j] = done
		path = path[:len(path)-1]
		return false
	}
	for j := range before {
		if state[j] == fresh && visit(j) {
			return ring
		}
	}
	return nil
}

// forward writes each job's earliest start and returns the length of the whole.
func (n *network) forward(days, start []float64) float64 {
	length := 0.0
	for _, j := range n.order {
		start[j] = 0
		for _, k := range n.before[j] {
			start[j] = max(start[j], start[k]+days[k])
		}
		length = max(length, start[j]+days[j])
	}
	return length
}

// backward writes how many days at least follow on each job's end.
func (n *network) backward(days, tail []float64) {
	for _, j := range slices.Backward(n.order) {
		tail[j] = 0
		for _, k := range n.then[j] {
			tail[j] = max(tail[j], days[k]+tail[k])
		}
	}
}

// Times are when a job can and must be done, in days from now.
type Times struct {
	EarlyStart, EarlyFinish, LateStart, LateFinish float64
	// Slack is the days by which the job can be late without delaying the whole.
	Slack float64
}

// CriticalPath returns the times of each job and the length of the whole, where
// job j takes days[j] and waits for before[j]. Jobs in a ring are a programmer's
// mistake, and it panics.
//
// The critical path method: Kelley and Walker (1959), Proceedings of the Eastern
// Joint Computer Conference.
func CriticalPath(before [][]int, days []float64) (times []Times, length float64) {
	n := newNetwork(before)
	if n == nil {
		panic("source: jobs wait for each other in a circle")
	}
	start, tail := make([]float64, len(days)), make([]float64, len(days))
	length = n.forward(days, start)
	n.backward(days, tail)
	times = make([]Times, len(days))
	for j, d := range days {
		late := length - tail[j]
		times[j] = Times{start[j], start[j] + d, late - d, late, late - d - start[j]}
		if times[j].Slack < 1e-9 { // rounding
			times[j].Slack = 0
		}
	}
	return times, length
}
