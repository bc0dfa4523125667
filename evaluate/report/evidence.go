package report

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/tabular"
)

// The JSON of what evidence says of a lot: money in pounds, logs natural, shares as fractions.
type (
	valueJSON struct {
		Mean        float64 `json:"mean" flat:"value_used"`
		LogSD       float64 `json:"log_sd" flat:"value_log_sd"`
		Source      string  `json:"source" flat:"value_source"`
		Adverts     int     `json:"adverts"`
		ListingBias float64 `json:"listing_bias"`
		Fall        float64 `json:"fall"`
	}
	markerJSON struct {
		Low      float64 `json:"low"`
		Mid      float64 `json:"mid"`
		High     float64 `json:"high"`
		Adverts  int     `json:"adverts"`
		OwnSales int     `json:"own_sales"`
	}
	priceJSON struct {
		P10     float64 `json:"p10"`
		P50     float64 `json:"p50"`
		P90     float64 `json:"p90"`
		DF      float64 `json:"df"`
		Source  string  `json:"source"`
		Results int     `json:"results"`
		Gap     float64 `json:"gap"`
	}
	selectionJSON struct {
		Shift  float64 `json:"shift" flat:"winning"`
		A      float64 `json:"a"`
		B      float64 `json:"b"`
		R      float64 `json:"r"`
		U      float64 `json:"u"`
		Builds int     `json:"builds"`
	}
	appraisalJSON struct {
		ValueUsed    *valueJSON     `json:"value_used"`
		Marker       *markerJSON    `json:"marker"`
		Price        *priceJSON     `json:"price"`
		MarginAt     string         `json:"margin_at"`
		WinChance    float64        `json:"win_chance"`
		ExpectedGain float64        `json:"expected_gain"`
		Selection    *selectionJSON `json:"selection"`
	}
)

// evidenceOf returns the JSON of what evidence says of a lot; nil where it says nothing.
func evidenceOf(r *evaluate.Result) *appraisalJSON {
	a := r.Appraisal
	if a == nil {
		return nil
	}
	v, m, p, s := &a.Value, &a.Marker, a.Price.Points(), &a.Selection
	out := &appraisalJSON{
		ValueUsed: &valueJSON{cents(v.Mean), share(v.LogSD), string(v.Source), v.Adverts, share(v.ListingBias),
			share(v.Fall)},
		Marker: &markerJSON{share(m.Points[0]), share(m.Points[1]), share(m.Points[2]), m.Adverts, m.OwnSales},
		Price: &priceJSON{cents(p[0]), cents(p[1]), cents(p[2]), a.Price.DF, string(a.Price.Source), a.Price.Results,
			share(a.Price.Gap)},
		MarginAt: "guide", WinChance: share(r.WinChance), ExpectedGain: cents(r.Gain),
	}
	if a.Priced {
		out.MarginAt = "price"
	}
	if a.Corrected {
		out.Selection = &selectionJSON{cents(r.Shift), cents(s.A), share(s.B * s.Reliability), share(s.R),
			share(s.U(r.At.Pounds())), s.Builds}
	}
	return out
}

// evidenceFields are the columns that a flat row has more where there is evidence.
var evidenceFields = columnsOf("value_used value_log_sd value_source price_p10 price_p50 price_p90 margin_at " +
	"win_chance " +
	"expected_gain winning")

// fieldsOf are the columns of the flat rows.
func fieldsOf(evidence bool) []Field {
	if !evidence {
		return screenFields
	}
	return slices.Concat(screenFields, evidenceFields)
}

// expected says that margins and verdicts are at expected prices, and not at guide prices.
func expected(results []*evaluate.Result) bool {
	for _, r := range results {
		if r.Appraisal != nil {
			return r.Appraisal.Priced
		}
	}
	return false
}

// evidenceLegend says in words what evidence changes on a screen; blank where there is none.
func evidenceLegend(results []*evaluate.Result) string {
	var text []string
	var most *evaluate.Appraisal
	corrected, value := false, false
	for _, r := range results {
		if a := r.Appraisal; a != nil {
			if most == nil || a.Price.Results > most.Price.Results {
				most = a
			}
			corrected = corrected || a.Corrected && r.Status == bid.Ranked
			value = value || a.Value.Source != prices.FromListing
		}
	}
	if most == nil {
		return ""
	}
	if most.Priced {
		text = append(text, fmt.Sprintf("Margin: at the price expected from %s. Win: the chance that bidding to the stop "+
			"wins "+
			"the lot; gain: what that is worth on average.",
			tabular.Count(most.Price.Results, "past lot")))
	} else {
		text = append(text, "Loss: the chance of losing money at the guide price.")
	}
	if value {
		text = append(text, "Values: from the list and adverts.")
	}
	if corrected {
		text = append(text, "Margins are less a top-bidder allowance (--as-coded leaves it out).")
	}
	return strings.Join(text, " ") + " "
}

// correctedOf says that the top-bidder allowance is taken off a table's margins.
func correctedOf(results []*evaluate.Result) bool {
	for _, r := range results {
		if r.Appraisal != nil && r.Appraisal.Corrected {
			return true
		}
	}
	return false
}

// chanceText is a lot's chance and amount on a narrow screen: of a loss, at the guide price; or
// to win at the price to stop at, and what bidding is worth.
func chanceText(r *evaluate.Result) string {
	if r.Appraisal != nil && r.Appraisal.Priced {
		return Percent(r.WinChance) + "\n" + Pounds(r.Gain)
	}
	return Percent(r.Margin.LossChance) + "\n" + Whole(r.Guide)
}

// wideColumns are the columns of price and margin on a wide screen.
func wideColumns(results []*evaluate.Result) []Column {
	price, chances := "guide", []string{"loss"}
	if expected(results) {
		price, chances = "price", []string{"win", "gain"}
	}
	out := []Column{right(price), right("margin\naverage"), right("\nlikely range")}
	if correctedOf(results) {
		out = append(out, right("winning"))
	}
	for _, head := range chances {
		out = append(out, right(head))
	}
	return out
}

// wideCells are the cells of wideColumns. A price that the list does not have is marked.
func wideCells(r *evaluate.Result, winning bool) []string {
	at := Whole(r.At)
	priced := r.Appraisal != nil && r.Appraisal.Priced
	if priced && r.Guide == 0 {
		at += "*"
	}
	out := []string{at, Pounds(r.Margin.Mean), Range(r.Margin.P10, r.Margin.P90)}
	if winning {
		out = append(out, Pounds(r.Shift))
	}
	if priced {
		return append(out, Percent(r.WinChance), Pounds(r.Gain))
	}
	return append(out, Percent(r.Margin.LossChance))
}
