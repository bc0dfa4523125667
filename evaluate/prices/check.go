package prices

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/money"
)

// CheckAdverts returns the rows that can be used, in their order, and what is wrong with the others, by line: for
// a reader of adverts.csv, before [Fit]. Every row has its Line.
func CheckAdverts(adverts []Advert, settings *Settings) (good []Advert, bad []Notice) {
	m := Model{settings: *settings}
	type first struct {
		segment string
		line    int
	}
	segments := map[string]first{}
	rows := slices.Clone(adverts)
	slices.SortStableFunc(rows, func(a, b Advert) int { return a.Line - b.Line })
	for i := range rows {
		a := &rows[i]
		column, text := m.advertProblem(a)
		if column == "marked" {
			text += m.settings.markedHint(a.Marked)
		}
		if text == "" {
			name := carName(a.Make, a.Model)
			f, seen := segments[name]
			switch {
			case !seen:
				segments[name] = first{segmentOf(a.Segment), a.Line}
			case f.segment != segmentOf(a.Segment):
				column, text = "segment", fmt.Sprintf("%q, but %s is %s on line %d; write one car type for a model",
					segmentOf(a.Segment), a.Model, f.segment, f.line)
			}
		}
		if text != "" {
			bad = append(bad, Notice{Unusable, AdvertsFile, a.Line, column, text})
			continue
		}
		good = append(good, *a)
	}
	return good, bad
}

// markedHint says what to write for a category that is named another way, such as "cat N".
func (s *Settings) markedHint(typed string) string {
	words := strings.Fields(typed)
	for _, k := range s.Markers {
		if len(words) > 0 && strings.EqualFold(words[len(words)-1], k.Category) {
			return "; write " + k.Category
		}
	}
	return ""
}

// CheckResults does the same for results.csv: also a stop below the hammer price of a car that was won, and a lot
// that another row has already. The first of two rows of one lot stays.
func CheckResults(results []Result, settings *Settings) (good []Result, bad []Notice) {
	m := Model{settings: *settings}
	type key struct {
		site, number string
		day          int
	}
	lines := map[key]int{}
	rows := slices.Clone(results)
	slices.SortStableFunc(rows, func(a, b Result) int { return a.Line - b.Line })
	for i := range rows {
		r := &rows[i]
		r.Segment = segmentOf(r.Segment)
		column, text := m.resultProblem(r)
		if text == "" && r.Won == Yes && r.Stop > 0 && r.Stop < r.Hammer {
			column, text = "stop", fmt.Sprintf("%s is below the hammer price of %s, and won says yes; is one of them mistyped?",
				money.Whole(r.Stop), money.Whole(r.Hammer))
		}
		if text == "" && r.Number != "" {
			k := key{fold(r.Site), r.Number, civil(r.SaleDate)}
			if line, again := lines[k]; again {
				column, text = "lot", fmt.Sprintf("%q%s on %s is already on line %d; take one away", r.Number, at(r.Site),
					dateText(r.SaleDate), line)
			} else {
				lines[k] = r.Line
			}
		}
		if text != "" {
			bad = append(bad, Notice{Unusable, ResultsFile, r.Line, column, text})
			continue
		}
		good = append(good, *r)
	}
	return good, bad
}

func at(site string) string {
	if site == "" {
		return ""
	}
	return " of " + site
}
