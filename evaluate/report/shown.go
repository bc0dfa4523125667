package report

import (
	"fmt"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/tabular"
)

// Shown returns the lots that a person is shown, in their order: all of them, or the best
// Top, those without a guide price after the ranked ones. Those that may not be rebuilt and
// those that are not coded yet are shown only where all are.
func (s *Screen) Shown() []*evaluate.Result {
	if s.Top <= 0 {
		return s.Results
	}
	var out []*evaluate.Result
	for _, status := range []bid.Status{bid.Ranked, bid.Unpriced} {
		for _, r := range s.Results {
			if r.Status == status && len(out) < s.Top {
				out = append(out, r)
			}
		}
	}
	return out
}

// Rest counts the lots that are not among those shown, in a sentence; blank where all are.
func (s *Screen) Rest(shown []*evaluate.Result) string {
	left := map[bid.Status]int{}
	for _, r := range s.Results {
		left[r.Status]++
	}
	for _, r := range shown {
		left[r.Status]--
	}
	if s.More != nil {
		for status, n := range s.More.Lots {
			left[status] += n
		}
	}
	var parts []string
	for _, x := range []struct {
		status bid.Status
		words  string
	}{{bid.Ranked, "ranked"}, {bid.Unpriced, "without a guide price"}, {bid.Uncoded, "not coded"}, {bid.Excluded,
		"not for rebuilding"}} {
		if n := left[x.status]; n > 0 {
			parts = append(parts, money.Group(int64(n))+" "+x.words)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return "More lots not shown: " + strings.Join(parts, ", ") + "."
}

// Document returns the screen for a person, laid out for a width.
func (s *Screen) Document(width int) *Document {
	d := &Document{}
	notes := &footnotes{}
	shown := s.Shown()
	of := func(status bid.Status) (out []*evaluate.Result) {
		for _, r := range shown {
			if r.Status == status {
				out = append(out, r)
			}
		}
		return out
	}
	first := "best first"
	if expected(s.Results) {
		first = "most gain first"
	}
	d.Show(fmt.Sprintf("Ranked lots, %s (%s)", first, unit(s.Shop.Currency)), s.lotTable(of(bid.Ranked), width, true,
		notes))
	d.Show("No guide price: how far to bid", s.lotTable(of(bid.Unpriced), width, false, notes))
	d.Show("Not coded: enter the damage first", asideTable(of(bid.Uncoded)))
	d.Show("Not for rebuilding", asideTable(of(bid.Excluded)))
	if text := s.Rest(shown); text != "" {
		d.Say(text)
	}
	if len(s.Results) == 0 {
		d.Say(s.Nothing() + ".")
	}
	if s.More != nil && len(s.Results) > 0 {
		d.Say(s.long())
	}
	if text := s.Threshold(); text != "" {
		d.Say(text)
	}
	if n := s.rejected(); n > 0 {
		d.Say(fmt.Sprintf("%s could not be read and %s left out. The messages say why; --rejects FILE saves them.",
			tabular.Count(n, "row"), isAre(n)))
	}
	if !s.Quiet {
		if text := notes.String(); text != "" {
			d.Say(text)
		}
		d.Say(s.legend())
	}
	d.Say(Caution)
	return d
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// legend says in a few lines what the columns are; wreckoner help words has the rest.
func (s *Screen) legend() string {
	text := "Repair and margin: averages, and the range that 8 such cars in 10 end in. Likely: half cost less. "
	if more := evidenceLegend(s.Results); more != "" {
		text += more
	} else {
		text += "Loss: the chance of losing money at the guide price. "
	}
	text += "Stop at: don't bid beyond it; below it, what it is held by. Workshop: " + ShopWords(s.Shop, s.Folder) + ". "
	if s.Points > 0 {
		text += Drawn(s.Points, s.Seed) + ". "
	}
	return text + "More: wreckoner help words."
}
