package probe

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/convolve"
	"wreckoner/evaluate/money"
)

// Inspected is how a lot stands once somebody has looked.
type Inspected struct {
	Found, NotThere []damage.Item
	*Outcome
	// Pay is what has to be paid at the highest bid, with fees and transport; 0 where nothing
	// is worth a bid.
	Pay money.Pence
}

// Inspect sets what was found at the car and what is not there: seen marks of two codes. It
// fails where one of them is not in doubt, and where the answers cannot all be so.
func (p *Probe) Inspect(found, notThere damage.Code) error {
	x := &Inspected{}
	var shown []costs.Shown
	for _, answer := range []struct {
		option string
		code   damage.Code
		into   *[]damage.Item
	}{{"--found", found, &x.Found}, {"--not-there", notThere, &x.NotThere}} {
		for _, m := range answer.code.Marks() {
			if m.State != damage.Seen {
				return fmt.Errorf("%s: write what you looked at without ? and -, as in %q", answer.option, m.Item)
			}
			if !slices.ContainsFunc(p.Unknowns, func(u Unknown) bool { return u.Item == m.Item }) {
				return fmt.Errorf("%s: nothing says that %q may be there on lot %s; write what you found into the damage code "+
					"of the list, or choose from %s", answer.option, m.Item, p.Lot.Number, p.doubtful())
			}
			*answer.into = append(*answer.into, m.Item)
			shown = costs.Show(shown, m.Item, answer.option == "--found")
		}
	}
	s, err := p.Assessment.Given(shown)
	switch {
	case errors.Is(err, convolve.ErrImpossible), errors.Is(err, evaluate.ErrRare):
		return fmt.Errorf("lot %s, with these answers: %w; write what you found into the damage code of the list, and "+
			"probe it again",
			p.Lot.Number, err)
	case err != nil:
		return fmt.Errorf("lot %s: %w", p.Lot.Number, err)
	}
	if x.Outcome = p.outcomeOf(s); x.HighestBid > 0 {
		x.Pay = s.Outlay(x.HighestBid)
	}
	p.Inspected = x
	return nil
}

// doubtful are the items that may be there, in words.
func (p *Probe) doubtful() string {
	names := make([]string, len(p.Unknowns))
	for i := range p.Unknowns {
		names[i] = p.Unknowns[i].Item.String()
	}
	return strings.Join(names, ", ")
}
