package learn

import "wreckoner/evaluate/stats"

func mustAmount(low, mid, high float64) stats.Amount {
	a, err := stats.New(low, mid, high, stats.Skewed)
	if err != nil {
		panic(err)
	}
	return a
}

// For the simulator: what is written under each policy that was tried.
const (
	Averaged  = averaged
	Plain     = plain
	NamedOnly = named
	Shrunk    = shrunk
)

// LearnAs is Learn with another rule of what to write.
func LearnAs(p policy, t Table, b []Build, s Settings) (*Learned, error) { return learn(t, b, s, p) }

// Policies estimates once and reports under several policies.
func Policies(t Table, b []Build, s Settings, ps ...policy) ([]*Learned, error) {
	o, _, err := estimate(t, b, s)
	if err != nil {
		return nil, err
	}
	var all []*Learned
	for _, p := range ps {
		all = append(all, o.report(p))
	}
	return all, nil
}

// A Policy is a rule of what to write.
type Policy = policy
