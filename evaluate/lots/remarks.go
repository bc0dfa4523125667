package lots

import (
	"fmt"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// remarks are what is said of how rows were read, lot by lot, in the order in which it came up first.
type remarks struct {
	order []string
	lots  map[string][]string
	count map[string]int
	lines []string
	more  int
	words []string // of kinds of car, and what they are read as
	times map[string]int
}

// mostNamed is how many lots are named with a remark; mostLines how many single lines are said.
const (
	mostNamed  = 40
	mostLines  = 40
	mostThings = 60
)

// add says something of a lot.
func (r *remarks) add(what string, lot *evaluate.Lot) {
	if r.lots == nil {
		r.lots, r.count = map[string][]string{}, map[string]int{}
	}
	if r.count[what] == 0 {
		if len(r.order) == mostThings {
			r.more++
			return
		}
		r.order = append(r.order, what)
	}
	if r.count[what]++; len(r.lots[what]) < mostNamed {
		r.lots[what] = append(r.lots[what], lot.Number)
	}
}

// word says that a word for a kind of car was read as one of ours.
func (r *remarks) word(text string) {
	if r.times == nil {
		r.times = map[string]int{}
	}
	if r.times[text] == 0 {
		if len(r.words) == mostThings {
			r.more++
			return
		}
		r.words = append(r.words, text)
	}
	r.times[text]++
}

// line says something of one row.
func (r *remarks) line(text string) {
	if len(r.lines) < mostLines {
		r.lines = append(r.lines, text)
	} else {
		r.more++
	}
}

// notices returns it all.
func (r *remarks) notices(file string) []string {
	var all []string
	if len(r.words) > 0 {
		kinds := make([]string, len(r.words))
		for i, w := range r.words {
			kinds[i] = fmt.Sprintf("%s (%s)", w, tabular.Count(r.times[w], "lot"))
		}
		all = append(all, fmt.Sprintf("%s: car types read as: %s", file, strings.Join(kinds, ", ")))
	}
	for _, what := range r.order {
		lots := "lot "
		if r.count[what] > 1 {
			lots = "lots "
		}
		more := ""
		if n := r.count[what] - len(r.lots[what]); n > 0 {
			more = fmt.Sprintf(" and %d more", n)
		}
		all = append(all, fmt.Sprintf("%s: %s: %s%s%s", file, what, lots, strings.Join(r.lots[what], ", "), more))
	}
	all = append(all, r.lines...)
	if r.more > 0 {
		all = append(all, fmt.Sprintf("%s: and %d more such notices", file, r.more))
	}
	return all
}
