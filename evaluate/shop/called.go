package shop

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"slices"
	"strings"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/tabular"
)

// names reads names with | between them.
func names(c tabular.Cell) []string {
	var all []string
	for name := range strings.SplitSeq(c.Text(), "|") {
		if name = tabular.NameKey(name); name != "" {
			all = append(all, name)
		}
	}
	return all
}

// starterNames returns what the starter's segment of that name is called, for a folder whose segments.csv is from
// before it said so.
func starterNames(segment string) (called, inName []string) {
	text, err := fs.ReadFile(costs.Starter(), SegmentsFile)
	if err != nil {
		return nil, nil
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(rows) == 0 {
		return nil, nil
	}
	at := func(name string) int { return slices.Index(rows[0], name) }
	for _, row := range rows[1:] {
		if strings.EqualFold(row[at("segment")], segment) {
			return names(tabular.NewCell(row[at("called")])), names(tabular.NewCell(row[at("in_name")]))
		}
	}
	return nil, nil
}

// SegmentCalled returns the segment that a list's words for a kind of car name, the segment's own name among them.
func (s *Shop) SegmentCalled(words string) (int, bool) {
	if i, ok := s.Segment(words); ok {
		return i, true
	}
	key := kindOf(words)
	i := slices.IndexFunc(s.Segments, func(x Segment) bool {
		return kindOf(x.Name) == key || slices.Contains(x.Called,
			key)
	})
	return i, i >= 0
}

// kindOf takes from words for a kind of car what says how many doors it has.
func kindOf(words string) string {
	fields := strings.FieldsFunc(strings.ToLower(words), func(r rune) bool {
		return r == ' ' || r == '/' || r == ',' ||
			r == '_'
	})
	var kept []string
	for i := 0; i < len(fields); i++ {
		w := strings.TrimRight(fields[i], ".")
		if len(w) > 1 && w[0] >= '2' && w[0] <= '5' && slices.Contains([]string{"dr", "door", "doors", "-door", "-dr"},
			w[1:]) {
			continue
		}
		if len(w) == 1 && w[0] >= '2' && w[0] <= '5' && i+1 < len(fields) && slices.Contains([]string{"dr", "door", "doors"},
			fields[i+1]) {
			i++
			continue
		}
		kept = append(kept, w)
	}
	return strings.Join(kept, " ")
}

// SegmentInName returns the segment that the words of a car's name say: "Hawdale Van". Words that say two say none.
func (s *Shop) SegmentInName(name string) (int, bool) {
	text := " " + strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return r == ' ' ||
			r == ',' || r == '/' || r == '(' || r == ')'
	}), " ") + " "
	found := -1
	for i, x := range s.Segments {
		if !slices.ContainsFunc(x.InName, func(w string) bool { return strings.Contains(text, " "+w+" ") }) {
			continue
		}
		if found >= 0 {
			return -1, false
		}
		found = i
	}
	return found, found >= 0
}
