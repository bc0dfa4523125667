package shop

import (
	"fmt"
	"math"

	"wreckoner/damage"
)

// worn reads what makes an extra depend on the car: its class's multiplier, its year, what
// it has covered and its age. It reports whether there is no fault.
func (r *settingsReader) worn(n int, x extra, e *Extra) (ok bool) {
	ok = true
	fault := func(key, text, format string, args ...any) {
		r.fault(r.line("extra", n, key), key, text, format, args...)
		ok = false
	}
	if x.Scale != "" {
		var err error
		if e.Scale, err = damage.ParseClass(x.Scale); err != nil {
			fault("scale", x.Scale,
				"%q is not a class of damage; write one of s, c, r, m, e, whose multiplier the amount then takes", x.Scale)
		}
		e.Scaled = err == nil
	}
	if y := x.YearFrom; y != nil {
		if e.YearFrom = *y; *y < 1900 || *y > 2100 {
			fault("year_from", fmt.Sprint(*y), "%s", rangeText(float64(*y), 1900, 2100))
		}
	}
	if m := x.OdometerFrom; m != nil {
		e.Wear, e.OdometerFrom = true, *m
		if math.IsNaN(*m) || *m < 0 || *m > 1e7 {
			fault("odometer_from", fmt.Sprint(*m), "%s", rangeText(*m, 0, 1e7))
		}
	}
	if a := x.AgeFrom; a != nil {
		e.Wear, e.AgeFrom = true, *a
		if *a < 0 || *a > 200 {
			fault("age_from", fmt.Sprint(*a), "%s", rangeText(float64(*a), 0, 200))
		}
	}
	return ok
}
