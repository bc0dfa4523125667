package build

import "time"

// Until returns what the ledger said of the build on a day: its rows up to that
// date, and those without one, which were always there. Faults are those of the
// whole.
func (b *Build) Until(day time.Time) *Build {
	r := ledgerReader{out: &Ledger{}, once: map[string]int{}}
	out := &Build{Name: b.Name, Faults: b.Faults}
	for _, e := range b.Entries {
		if !e.Date.After(day) {
			r.add(out, e)
		}
	}
	r.finish(out)
	return out
}
