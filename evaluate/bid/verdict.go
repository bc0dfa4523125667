package bid

import "wreckoner/evaluate/money"

// A Status says what could be done with a lot.
type Status string

// Ranked lots have a margin; unpriced ones no guide price, so only a price to stop at;
// excluded ones may not be rebuilt; of uncoded ones nobody has said what is damaged.
const (
	Ranked   Status = "ranked"
	Unpriced Status = "unpriced"
	Excluded Status = "excluded"
	Uncoded  Status = "uncoded"
)

// A Verdict is the advice in words.
type Verdict string

// The verdicts. The first three need a guide price.
const (
	GoAfter  Verdict = "go after"      // worth it at the guide price
	IfCheap  Verdict = "if cheap"      // worth it at a price that is likely enough
	LongShot Verdict = "long shot"     // worth it only far below the guide price
	NoGuide  Verdict = "no guide"      // no guide price: worth it up to the price to stop at
	DontBid  Verdict = "don't bid"     // worth it at no price
	OffRoad  Verdict = "not for road"  // may not be rebuilt
	NotCoded Verdict = "code it first" // nobody has said what is damaged
)

// cheapFrom is the share of the guide price from which on a price to stop at is
// reached often enough to be worth waiting for.
const cheapFrom = 0.75

// Advise returns the advice for a lot of that status, where stop is the price to stop
// at and guide the guide price.
func Advise(status Status, stop, guide money.Pence) Verdict {
	switch {
	case status == Excluded:
		return OffRoad
	case status == Uncoded:
		return NotCoded
	case stop == 0:
		return DontBid
	case status == Unpriced:
		return NoGuide
	case stop >= guide:
		return GoAfter
	case float64(stop) >= cheapFrom*float64(guide):
		return IfCheap
	}
	return LongShot
}
