package floor

// A Rule says which of the cars that can be worked on is worked on.
type Rule uint8

const (
	// Smith works on the car whose delay costs most for the hours it still wants: w / p,
	// largest first (W. E. Smith, 1956, "Various optimizers for single-stage production",
	// Naval Research Logistics Quarterly 3). For one worker and certain hours no order
	// costs less; here hours are uncertain and cars wait for parts, and it is a rule of
	// thumb.
	Smith Rule = iota
	// Oldest works on the car that was bought first.
	Oldest
)

// A Work is what one car wants of the workshop.
type Work struct {
	// Delay is what a day's delay costs, in pounds; Hours are own hours left, at least 0.
	Delay, Hours float64
}

// leastHours keeps the index of a car with next to nothing left finite.
const leastHours = 0.25

// index is Smith's: pounds a day that are saved for an hour of work.
func (w Work) index() float64 { return w.Delay / max(leastHours, w.Hours) }
