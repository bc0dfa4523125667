package shop

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
)

// byClass is a setting that is one figure for all classes, or a table by their letters;
// what the table leaves out is 0.
type byClass [damage.ClassCount]float64

// UnmarshalTOML reads one number, or a table of numbers by class.
func (b *byClass) UnmarshalTOML(v any) error {
	const how = "write one number such as 0.07, or a table by class such as {s = 0.1, c = 0.07}"
	if x, ok := tomlNumber(v); ok {
		for c := range b {
			b[c] = x
		}
		return nil
	}
	table, ok := v.(map[string]any)
	if !ok {
		return fmt.Errorf("%v is not a number; %s", v, how)
	}
	for letter, v := range table {
		c, err := damage.ParseClass(letter)
		if err != nil {
			return fmt.Errorf("%q is not a class of damage; %s", letter, how)
		}
		if b[c], ok = tomlNumber(v); !ok {
			return fmt.Errorf("%v is not a number; %s", v, how)
		}
	}
	return nil
}

// MarshalTOML writes what UnmarshalTOML reads.
func (b byClass) MarshalTOML() ([]byte, error) {
	if !slices.ContainsFunc(b[:], func(x float64) bool { return x != b[0] }) {
		return []byte(tomlFloat(b[0])), nil
	}
	var parts []string
	for _, c := range damage.Classes() {
		parts = append(parts, c.Letter()+" = "+tomlFloat(b[c]))
	}
	return []byte("{" + strings.Join(parts, ", ") + "}"), nil
}

func tomlFloat(x float64) string {
	text := money.Plain(x)
	if !strings.Contains(text, ".") {
		text += ".0"
	}
	return text
}

func tomlNumber(v any) (float64, bool) {
	switch v := v.(type) {
	case int64:
		return float64(v), true
	case float64:
		return v, true
	}
	return 0, false
}

// coding reads coding_up and coding_down.
func (r *settingsReader) coding(f *settingsFile, s *Settings) {
	faulty := false
	read := func(key string, from *byClass, into *[damage.ClassCount]float64) {
		if from == nil {
			return
		}
		for _, x := range from {
			if math.IsNaN(x) || x < 0 || x > 1 {
				r.fault(r.keyLine(key), key, fmt.Sprint(x), "%s", rangeText(x, 0, 1))
				faulty = true
				return
			}
		}
		*into = *from
	}
	read("coding_up", f.CodingUp, &s.CodingUp)
	read("coding_down", f.CodingDown, &s.CodingDown)
	for _, c := range damage.Classes() {
		if up, down := s.CodingUp[c], s.CodingDown[c]; !faulty && up+down >= 1 {
			r.fault(r.keyLine("coding_up"), "coding_up", fmt.Sprint(up),
				"%s: coding_up %v and coding_down %v add up to 1 or more, so no code would ever be right; write smaller "+
					"chances, such as 0.08 each", c, up, down)
			s.CodingUp, s.CodingDown = [damage.ClassCount]float64{}, [damage.ClassCount]float64{}
			return
		}
	}
}

// keyLine is the line of a key before all tables, or of a table of that name.
func (r *settingsReader) keyLine(key string) int {
	if n := r.line("", 0, key); n > 0 {
		return n
	}
	return r.line(key, 0, "")
}
