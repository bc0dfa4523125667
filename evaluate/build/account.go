package build

import (
	"fmt"

	"wreckoner/evaluate/learn"
)

// An Account is what finished builds say of the figures that they were frozen with: of habits, and of what is wrong.
type Account struct {
	*learn.Learned
	// Left says what it does not rest on, and why.
	Left []string
}

// account works out what the builds say (METHOD.md 16). Each is held against the tables that it was frozen with; the
// settings that count are those of the build that was bought last.
func account(outcomes []*Outcome) (*Account, error) {
	last := outcomes[0]
	for _, o := range outcomes {
		if o.Build.Bought.After(last.Build.Bought) {
			last = o
		}
	}
	b, err := newBridge(last.Frozen.workshop, true)
	if err != nil {
		return nil, err
	}
	builds := b.all(outcomes)
	l, err := learn.Learn(b.table(), builds, b.settings())
	if err != nil {
		return nil, fmt.Errorf("what the builds say: %w", err)
	}
	return &Account{l, b.left}, nil
}
