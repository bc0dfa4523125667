package lots

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// DefaultSegment is that of a lot that names none.
const DefaultSegment = "family"

// segment takes the kind of car as it stands; kind reads it once the car's name is known.
func (r *lotReader) segment(x *reading, c tabular.Cell) { x.lot.Segment = c.Text() }

func (r *lotReader) category(x *reading, c tabular.Cell) { x.lot.Category = c.Text() }

// kind reads segment and category.
func (r *lotReader) kind(x *reading) {
	text := x.lot.Segment
	switch i, ok := r.shop.SegmentCalled(text); {
	case text == "":
		r.unnamedKind(x)
	case ok:
		x.lot.Segment = r.shop.Segments[i].Name
		if !strings.EqualFold(text, x.lot.Segment) {
			r.said.word(fmt.Sprintf("%q as %s", strings.ToLower(text), x.lot.Segment))
			r.tell(x, "segment", text, x.lot.Segment)
		}
	default:
		x.lot.Segment = ""
		x.bad("segment", tabular.Unknown("car type", text, r.segmentNames()))
	}
	if category := x.lot.Category; !slices.ContainsFunc(x.problems,
		func(p tabular.Problem) bool { return p.Column == r.table.Header("category") }) {
		name, err := r.categoryNamed(category)
		x.lot.Category = ""
		if x.bad("category", err) {
			return
		}
		i, ok := r.shop.Category(name, x.lot.Segment)
		switch {
		case ok:
			x.lot.Category = r.shop.Categories[i].Name
			r.tell(x, "category", category, x.lot.Category)
		case x.lot.Segment != "":
			x.bad("category", fmt.Errorf("the shop's category %q has no row for the car type %s; add one to categories.csv, "+
				"or one with * as the car type", name, x.lot.Segment))
		}
	}
}

// unnamedKind reads the kind of a car that the list does not say: by the car's name, else it is the default, and said.
func (r *lotReader) unnamedKind(x *reading) {
	if slices.ContainsFunc(x.problems, func(p tabular.Problem) bool { return p.Column == r.table.Header("segment") }) {
		return
	}
	if i, ok := r.shop.SegmentInName(strings.TrimSpace(x.lot.Make + " " + x.lot.Model)); ok {
		x.lot.Segment = r.shop.Segments[i].Name
		r.said.add(fmt.Sprintf("no car type given; read from the name as %s", x.lot.Segment), x.lot)
		return
	}
	i, ok := r.shop.Segment(DefaultSegment)
	if !ok {
		x.bad("segment", fmt.Errorf("is blank, and segments.csv has no %q to use instead; write one of %s", DefaultSegment,
			strings.Join(r.segmentNames(), ", ")))
		return
	}
	x.lot.Segment = r.shop.Segments[i].Name
	if r.table.Has("segment") {
		r.said.add("no car type given; taken as family", x.lot)
	}
}

func (r *lotReader) segmentNames() []string {
	var names []string
	for _, s := range r.shop.Segments {
		names = append(names, s.Name)
	}
	return names
}

// categoryNamed returns the shop's category that a list's words name.
func (r *lotReader) categoryNamed(text string) (string, error) {
	if strings.TrimSpace(text) == "" {
		return "", errors.New(`is blank; write the insurer's category, or unrecorded if there is none`)
	}
	if r.shop.HasCategory(text) {
		return text, nil
	}
	key := marker(text)
	if r.shop.HasCategory(key) {
		return key, nil
	}
	for _, words := range []string{text, key} {
		if meant, ok := choice("category", words); ok && r.shop.HasCategory(meant) {
			return meant, nil
		}
	}
	var names, within []string
	words := strings.FieldsFunc(key, func(c rune) bool { return strings.ContainsRune("/ ,-&", c) })
	for _, c := range r.shop.Categories {
		if slices.Contains(names, c.Name) {
			continue
		}
		names = append(names, c.Name)
		if slices.Contains(words, strings.ToLower(c.Name)) {
			within = append(within, c.Name)
		}
	}
	if len(within) > 1 {
		return "", fmt.Errorf("%q could be %s; write one of them", text, strings.Join(within, " or "))
	}
	return "", tabular.Unknown("category", text, names)
}
