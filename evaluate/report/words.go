package report

import (
	"fmt"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/build/reforecast"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/probe"
	"wreckoner/evaluate/shop"
)

// Clean makes a text of one line safe to show: control and direction characters
// are written out.
func Clean(text string) string { return clean(text) }

// CarWords names the car of a result, or the kind of car where nobody names it.
func CarWords(r *evaluate.Result) string { return carText(r) }

// LimitWords says in a word what holds a stop price.
func LimitWords(r *evaluate.Result) string { return limitText(r) }

// Count says how many there are of something: "1 lot", "1,200 lots".
func Count(n int, what string) string { return count(n, what) }

// ProbeWords says what to do about a probed lot and what matters of it, a line each.
func ProbeWords(p *probe.Probe, currency string) []string { return summary(p, currency) }

// ShopWords says which files were used.
func ShopWords(workshop *shop.Shop, folder string) string {
	var own, built []string
	for _, x := range workshop.Sources {
		if x.BuiltIn {
			built = append(built, x.File)
		} else {
			own = append(own, x.File)
		}
	}
	switch {
	case len(own) == 0:
		return "the built-in starter figures (wreckoner start DIR makes a copy to edit)"
	case len(built) == 0:
		return clean(folder)
	}
	return fmt.Sprintf("%s (%s); built in: %s", clean(folder), strings.Join(own, ", "), strings.Join(built, ", "))
}

// Words says in words what the review comes to, a paragraph each.
func (r *Review) Words() []string { return r.words() }

// OutcomeWords says what became of one build.
func OutcomeWords(o *build.Outcome, currency string) string { return storyOf(o, currency) }

// WhereWords says in words how an actual lies to its estimate.
func WhereWords(w build.Where) string { return whereWords(w) }

// RankWords writes a percentile: P63 is above 63 worlds of a hundred.
func RankWords(p float64) string { return rank(p) }

// Words says in words how the build stands and what to do, a paragraph each.
func (r *Reforecast) Words() []string { return r.summary() }

// Drawn says how many cars were simulated for each lot; 0 is none.
func Drawn(points int, seed uint64) string {
	if points == 0 {
		return "Calculated, not simulated"
	}
	return fmt.Sprintf("Simulated: %s cars a lot, seed %d", money.Group(int64(points)), seed)
}

// StateWords says how a job of a build in progress stands.
func StateWords(s reforecast.State) string { return stateWords(s) }
