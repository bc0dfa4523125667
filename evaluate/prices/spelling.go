package prices

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// A name is one spelling and how many adverts have it.
type name struct {
	text  string // folded
	shown string // as typed
	n     int
}

// names are the makes and models of adverts.csv.
type names struct {
	makes  []name
	models map[string][]name // by folded make
	cars   []name            // make and model together
}

// noteSpelling tells of makes and models that are nearly another's, which more adverts have. Names with digits in the
// difference are left alone: they tell models apart.
func (m *Model) noteSpelling(adverts []Advert, results []Result) {
	m.names = collect(adverts)
	told := map[string]string{}
	suggest := func(maker, model string) (column, text string) {
		key := carName(maker, model)
		if t, ok := told[key]; ok {
			column, text, _ = strings.Cut(t, "\x00")
			return column, text
		}
		column, text = m.Spelling(maker, model)
		told[key] = column + "\x00" + text
		return column, text
	}
	for i := range adverts {
		if column, text := suggest(adverts[i].Make, adverts[i].Model); text != "" {
			m.tell(Notice{Spelling, AdvertsFile, adverts[i].Line, column, text})
		}
	}
	for i := range results {
		if column, text := suggest(results[i].Make, results[i].Model); text != "" {
			m.tell(Notice{Spelling, ResultsFile, results[i].Line, column, text})
		}
	}
}

// collect counts the makes, and the models of each.
func collect(adverts []Advert) *names {
	makes, models, cars := map[string]*name{}, map[string]map[string]*name{}, map[string]*name{}
	count := func(in map[string]*name, text string) {
		k := fold(text)
		if in[k] == nil {
			in[k] = &name{text: k, shown: text}
		}
		in[k].n++
		in[k].shown = min(in[k].shown, text)
	}
	for i := range adverts {
		a := &adverts[i]
		count(makes, a.Make)
		k := fold(a.Make)
		if models[k] == nil {
			models[k] = map[string]*name{}
		}
		count(models[k], a.Model)
		count(cars, strings.TrimSpace(a.Make+" "+a.Model))
	}
	out := &names{makes: sorted(makes), models: map[string][]name{}, cars: sorted(cars)}
	for k, in := range models {
		out.models[k] = sorted(in)
	}
	return out
}

func sorted(in map[string]*name) []name {
	out := make([]name, 0, len(in))
	for _, n := range in {
		out = append(out, *n)
	}
	slices.SortFunc(out, func(a, b name) int { return cmp.Or(-cmp.Compare(a.n, b.n), cmp.Compare(a.text, b.text)) })
	return out
}

// Spelling says which column of a row names a make or model that is nearly one of the adverts', and what to ask; both
// blank where neither is.
func (m *Model) Spelling(maker, model string) (column, text string) {
	if near, ok := nearest(m.names.makes, maker); ok {
		return "make", fmt.Sprintf("%q: did you mean %s?", maker, near)
	}
	if near, ok := nearest(m.names.models[fold(maker)], model); ok {
		return "model", fmt.Sprintf("%q: did you mean %s?", model, near)
	}
	return "", ""
}

// Alike says which adverts a car of which there are none may belong to: those whose name begins as its name does,
// or the other way round, such as Drover and Drover 4WD. Whether they are one model, a person says. Blank where there
// are none, or where adverts have the car itself.
func (m *Model) Alike(maker, model string) string {
	car := carName(maker, model)
	best := name{}
	for _, c := range m.names.cars {
		switch {
		case car == "" || c.text == "":
		case c.text == car:
			return ""
		case strings.HasPrefix(car, c.text+" ") || strings.HasPrefix(c.text, car+" "):
			if common := min(len(c.text), len(car)); common > min(len(best.text), len(car)) {
				best = c
			}
		}
	}
	if best.n == 0 || !strings.Contains(best.text, " ") {
		return ""
	}
	return fmt.Sprintf("adverts.csv has %d of %s and none of %s; where they are one model, write it alike in both", best.n,
		best.shown, strings.TrimSpace(maker+" "+model))
}

// oftener is how many times oftener a name has to occur for another to count as a slip of it.
const oftener, shortestName = 3, 4

// nearest finds the commonest name that is one slip away. list is ordered by how often names occur.
func nearest(list []name, typed string) (string, bool) {
	k, n := fold(typed), 0
	if len([]rune(k)) < shortestName {
		return "", false
	}
	for _, c := range list {
		if c.text == k {
			n = c.n
		}
	}
	for _, c := range list {
		if c.n < max(2, oftener*n) {
			break
		}
		if c.text != k && slip(c.text, k) {
			return c.shown, true
		}
	}
	return "", false
}

// slip says whether two names differ by one letter added, left out, changed, or two neighbours exchanged.
func slip(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) < len(y) {
		x, y = y, x
	}
	if len(x)-len(y) > 1 {
		return false
	}
	i := 0
	for i < len(y) && x[i] == y[i] {
		i++
	}
	j := 0
	for j < len(y)-i && x[len(x)-1-j] == y[len(y)-1-j] {
		j++
	}
	p, q := x[i:len(x)-j], y[i:len(y)-j]
	for _, r := range append(slices.Clone(p), q...) {
		if !unicode.IsLetter(r) {
			return false
		}
	}
	switch {
	case len(x) != len(y):
		return len(p) == 1 && len(q) == 0
	case len(p) == 2:
		return p[0] == q[1] && p[1] == q[0]
	}
	return len(p) == 1
}
