package layout

import "wreckoner/evaluate/tabular"

// An Ahead is a source of which the first record was looked at.
type Ahead struct {
	tabular.Source
	first tabular.Record
	err   error
	taken bool
}

// LookAhead reads the first record of a source, which stays the first.
func LookAhead(s tabular.Source) *Ahead {
	a := &Ahead{Source: s}
	a.first, a.err = s.Next()
	return a
}

// First is that record.
func (a *Ahead) First() tabular.Record { return a.first }

// Next returns it, and then the others.
func (a *Ahead) Next() (tabular.Record, error) {
	if !a.taken {
		a.taken = true
		return a.first, a.err
	}
	return a.Source.Next()
}
