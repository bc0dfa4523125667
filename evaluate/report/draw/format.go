package draw

import (
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Format writes numbers. The zero value writes plain numbers without decimals.
type Format struct {
	// Decimals is how many decimals a single value has. Ticks have as many as
	// their step needs.
	Decimals int

	before, after string
	scale         float64 // zero means 1
	thousands     bool    // ticks may be counted in thousands and millions
}

// Money writes amounts of a currency, given as its three-letter code or its
// sign, in whole units.
func Money(currency string) Format {
	switch currency {
	case "GBP":
		currency = "£"
	case "EUR":
		currency = "€"
	case "USD":
		currency = "$"
	}
	currency = clean(currency)
	if last, _ := utf8.DecodeLastRuneInString(currency); unicode.IsLetter(last) {
		currency += "\u00a0"
	}
	return Format{before: currency, thousands: true}
}

// Percent writes shares: 0.2 is 20 %.
func Percent() Format { return Format{after: "%", scale: 100} }

// Plain writes numbers with a unit behind them, which may be empty.
func Plain(unit string) Format {
	if unit = clean(unit); unit != "" {
		unit = "\u00a0" + unit
	}
	return Format{after: unit}
}

// Value writes v, rounded half away from zero.
func (f Format) Value(v float64) string { return f.write(v, f.Decimals, "") }

// Signed writes v with its sign, also where that is plus.
func (f Format) Signed(v float64) string {
	text := f.Value(v)
	if v > 0 && text != f.Value(0) {
		return "+" + text
	}
	return text
}

// tick writes a tick of an axis with that step. Where short is set, whole
// thousands are written as k and whole millions as m.
func (f Format) tick(v, step float64, short bool) string {
	if short && f.thousands {
		for _, unit := range []struct {
			size float64
			name string
		}{{1e6, "m"}, {1e3, "k"}} {
			if step >= unit.size {
				if v == 0 {
					return f.write(0, 0, "")
				}
				return f.write(v/unit.size, 0, unit.name)
			}
		}
	}
	return f.write(v, decimals(step*f.factor()), "")
}

func (f Format) factor() float64 {
	if f.scale == 0 {
		return 1
	}
	return f.scale
}

func (f Format) write(v float64, places int, unit string) string {
	v *= f.factor()
	if p := math.Pow10(places); math.Abs(v*p) < 1<<52 {
		v = math.Round(v*p) / p
	}
	digits := strconv.FormatFloat(math.Abs(v), 'f', places, 64)
	whole, rest, _ := strings.Cut(digits, ".")
	var b strings.Builder
	if v < 0 {
		b.WriteRune('−')
	}
	b.WriteString(f.before)
	for i, d := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(d)
	}
	if rest != "" {
		b.WriteString("." + rest)
	}
	b.WriteString(unit + f.after)
	return b.String()
}
