package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
)

// lotTable is the table of ranked lots, or of those without a guide price.
func (s *Screen) lotTable(results []*evaluate.Result, width int, priced bool, notes *footnotes) *Table {
	if width >= wideFrom {
		return s.wideTable(results, priced, notes)
	}
	chance := "loss at\nguide"
	if priced && expected(results) {
		chance = "win\ngain"
	}
	t := tableOf(right("#"), left("lot"), gives("car\nverdict"), right("repair, average\nlikely range\nlikely (P50)"))
	if placed(results) {
		t.Columns[2].Head += "\nsite, day"
	}
	if priced {
		t.Columns = append(t.Columns, right("margin, average\nlikely range"), right(chance))
		if head, _ := s.merit(nil); head != "" {
			t.Columns = append(t.Columns, right(head))
		}
	} else {
		t.Columns[0] = left("")
		t.Columns = append(t.Columns, right("of value"))
	}
	t.Columns = append(t.Columns, right("stop at\nheld by"))
	for _, r := range results {
		car := CarWords(r) + "\n" + fmt.Sprintf("%s (%s)", r.Verdict(), Clean(r.Lot.Category))
		if place := PlaceWords(r.Lot); place != "" {
			car += "\n" + place
		}
		row := []string{
			rankText(r), Clean(r.Lot.Number) + "\n" + notes.marks(r), car,
			Pounds(r.Repair.Mean) + "\n" + Range(r.Repair.P10, r.Repair.P90) + "\n" + Pounds(r.Repair.P50),
		}
		if priced {
			row = append(row, Pounds(r.Margin.Mean)+"\n"+Range(r.Margin.P10, r.Margin.P90), chanceText(r))
			if head, figure := s.merit(r); head != "" {
				row = append(row, figure)
			}
		} else {
			row = append(row, Percent(float64(r.HighestBid)/float64(r.Value)))
		}
		t.Add(append(row, StopWords(r.HighestBid)+"\n"+LimitWords(r))...)
	}
	return t
}

// wideTable has a line for each lot.
func (s *Screen) wideTable(results []*evaluate.Result, priced bool, notes *footnotes) *Table {
	winning, place := correctedOf(results), placed(results)
	t := tableOf(right("#"), left("lot"), left("verdict"), gives("car"), left("cat"))
	if place {
		t.Columns = append(t.Columns, gives("site, day"))
	}
	t.Columns = append(t.Columns, right("repair\naverage"), right("\nlikely range"), right("likely\n(P50)"))
	if priced {
		t.Columns = append(t.Columns, wideColumns(results)...)
		if head, _ := s.merit(nil); head != "" {
			t.Columns = append(t.Columns, right(head))
		}
	} else {
		t.Columns[0] = left("")
		t.Columns = append(t.Columns, right("of value"))
	}
	t.Columns = append(t.Columns, right("stop at"), left("held by"), left("notes"))
	for _, r := range results {
		row := []string{rankText(r), Clean(r.Lot.Number), string(r.Verdict()), CarWords(r), Clean(r.Lot.Category)}
		if place {
			row = append(row, PlaceWords(r.Lot))
		}
		row = append(row, Pounds(r.Repair.Mean), Range(r.Repair.P10, r.Repair.P90), Pounds(r.Repair.P50))
		if priced {
			row = append(row, wideCells(r, winning)...)
			if head, figure := s.merit(r); head != "" {
				row = append(row, figure)
			}
		} else {
			row = append(row, Percent(float64(r.HighestBid)/float64(r.Value)))
		}
		t.Add(append(row, StopWords(r.HighestBid), LimitWords(r), notes.marks(r))...)
	}
	return t
}

func rankText(r *evaluate.Result) string {
	if r.Status != bid.Ranked || r.Rank == 0 {
		return ""
	}
	return fmt.Sprint(r.Rank)
}

// placed reports whether some lot has a site or a day of sale.
func placed(results []*evaluate.Result) bool {
	return slices.ContainsFunc(results, func(r *evaluate.Result) bool { return PlaceWords(r.Lot) != "" })
}

// PlaceWords says where and when a lot is sold: "Marrow Fen, 4 Mar"; blank where neither is
// known.
func PlaceWords(l *evaluate.Lot) string {
	var out []string
	if l.Site != "" {
		out = append(out, Clean(l.Site))
	}
	if day, err := time.Parse(time.DateOnly, l.SaleDate); err == nil {
		out = append(out, day.Format("2 Jan"))
	} else if l.SaleDate != "" {
		out = append(out, Clean(l.SaleDate))
	}
	return strings.Join(out, ", ")
}

// limitWords are what a stop price is held by.
var limitWords = map[bid.Limit]string{
	bid.LossLimit: "risk", bid.MarginLimit: "target", bid.CashLimit: "cash", bid.NoLimit: "value",
}

// LimitWords says in a word what holds a stop price.
func LimitWords(r *evaluate.Result) string { return cmp.Or(limitWords[r.BidLimit], string(r.BidLimit)) }
