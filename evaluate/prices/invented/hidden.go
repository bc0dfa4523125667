package invented

import (
	"math"
	"math/rand/v2"
)

// A Hidden world has lots with hidden damage that rivals know more of than we do, or no more.
type Hidden struct {
	// Known is how much each rival knows of what we do not know of the repair; Keen and Private the mean and sd of what
	// they want to earn, as shares of the value; RepairSD the repair's sd over its mean.
	Known, Keen, Private, RepairSD float64
	// Misread and Wrong are the log sds of our own error in the repair and in the value; Rivals how many bid.
	Misread, Wrong float64
	Rivals         int
}

// A HiddenLot is one lot: what we think, and what is so. Pounds.
type HiddenLot struct {
	// Value and Repair are what we think it is worth and costs; Truth is what it makes before the hammer price and fees;
	// Top the most that any rival would give, and a step.
	Value, Repair, Truth, Top float64
	// Tau2 is the variance of our own errors, METHOD.md 15.29.
	Tau2 float64
}

// HiddenKept is the part of the sale price that is left after selling; HiddenFixed what every car costs besides;
// HiddenFees what a pound of hammer price costs.
const HiddenKept, HiddenFixed, HiddenFees = 0.8, 700, 1.08

// Lots draws n lots.
func (w Hidden) Lots(rng *rand.Rand, n int) []HiddenLot {
	out := make([]HiddenLot, n)
	z := rng.NormFloat64
	for i := range out {
		value := 9000 * math.Exp(0.45*z())
		repair := min(0.7, -0.09*math.Log(rng.Float64()*rng.Float64()*rng.Float64())) * value
		dearer := (math.Exp(0.6*z()-0.18) - 1) / math.Sqrt(math.Exp(0.36)-1) // mean 0, sd 1, a long tail
		l := HiddenLot{Value: value * math.Exp(w.Wrong*z()), Repair: repair * math.Exp(w.Misread*z()-w.Misread*w.Misread/2)}
		l.Truth = HiddenKept*value*math.Exp(0.09*z()-0.00405) - repair - w.RepairSD*repair*dearer - HiddenFixed
		for range w.Rivals {
			bid := HiddenKept*value - repair*(1+0.15*z()) - w.Known*w.RepairSD*repair*dearer -
				HiddenFixed - value*(w.Keen+w.Private*z())
			l.Top = max(l.Top, bid/HiddenFees)
		}
		l.Top = max(0.1*value, l.Top) + 25
		l.Tau2 = math.Pow(HiddenKept*l.Value*w.Wrong, 2) + math.Pow(l.Repair*w.Misread, 2)
		out[i] = l
	}
	return out
}
