package shop

import (
	"fmt"
	"math"
	"time"

	"wreckoner/evaluate/prices"
)

// Evidence says how adverts, past hammer prices and own builds are weighed (METHOD.md 15).
type Evidence struct {
	// AdvertHalflife and ResultHalflife are the days in which a row's weight halves, above 0.
	AdvertHalflife, ResultHalflife float64
	// ListingShare is the part of a value_spread's variance that is the list's error, above 0 and below 1.
	ListingShare float64
	// ShareSpread multiplies guide_share times the value: P10, P50 and P90 of the hammer price.
	ShareSpread prices.Points
	// RivalGap is how much further than the hammer price the highest rival would have gone, as a log.
	RivalGap prices.Normal
	// MilesAYear is what a car without an odometer reading is taken to have done a year.
	MilesAYear float64
	// Selection holds the top-bidder allowance before own builds say more: A in pounds, B and r. [0, 1, 0] changes
	// nothing.
	Selection [3]float64
	// MarginSpread is how far true margins differ from lot to lot, a share of the value; not known: no
	// correction for it.
	MarginSpread prices.Optional
	// UsualMargin is the mean margin of a sale's lots, in pounds; not known: the target margin.
	UsualMargin prices.Optional
}

// evidenceFile has the keys of shop.toml that Evidence comes from.
type evidenceFile struct {
	AdvertHalflife *float64  `toml:"advert_halflife"`
	ResultHalflife *float64  `toml:"result_halflife"`
	ListingShare   *float64  `toml:"listing_share"`
	ShareSpread    *points   `toml:"share_spread"`
	RivalGap       []float64 `toml:"rival_gap"`
	MilesAYear     *float64  `toml:"miles_a_year"`
	Selection      []float64 `toml:"selection"`
	MarginSpread   *float64  `toml:"margin_spread"`
	UsualMargin    *float64  `toml:"usual_margin"`
}

// evidence reads those keys. What is not written has the value that METHOD.md 15 names.
func (r *settingsReader) evidence(f *evidenceFile) Evidence {
	d := prices.DefaultSettings()
	e := Evidence{
		AdvertHalflife: d.AdvertHalflife, ResultHalflife: d.ResultHalflife, ListingShare: d.ListingShare,
		ShareSpread: d.ShareSpread, RivalGap: d.RivalGap, MilesAYear: d.MilesAYear, Selection: d.Selection,
	}
	r.above("advert_halflife", f.AdvertHalflife, &e.AdvertHalflife, "write days, such as 180")
	r.above("result_halflife", f.ResultHalflife, &e.ResultHalflife, "write days, such as 365")
	r.above("miles_a_year", f.MilesAYear, &e.MilesAYear, "write miles, such as 8000")
	r.shares(f, &e)
	r.selection(f, &e)
	r.corrections(f, &e)
	return e
}

// shares reads how the variance of prices is shared out.
func (r *settingsReader) shares(f *evidenceFile, e *Evidence) {
	if x := f.ListingShare; x != nil {
		if e.ListingShare = *x; !(*x > 0 && *x < 1) {
			r.fault(r.line("", 0, "listing_share"), "listing_share", fmt.Sprint(*x),
				"%v is not between 0 and 1; write a share, such as 0.5", *x)
		}
	}
	if p := f.ShareSpread; p != nil {
		if e.ShareSpread = prices.Points(*p); !(p[0] > 0 && p[0] < p[2] && p[0] <= p[1] && p[1] <= p[2]) {
			r.fault(r.line("", 0, "share_spread"), "share_spread", "",
				"%v do not rise from above 0; write three factors, such as [0.6, 1, 1.6]", [3]float64(*p))
		}
	}
}

// selection reads the coefficients of rivals and of the top-bidder allowance.
func (r *settingsReader) selection(f *evidenceFile, e *Evidence) {
	if g := f.RivalGap; g != nil {
		if len(g) != 2 || !(g[1] > 0) || !finite(g...) {
			r.fault(r.line("", 0, "rival_gap"), "rival_gap", "",
				"%v is not a mean and a standard deviation above 0; write two numbers, such as [0.10, 0.05]", g)
		} else {
			e.RivalGap = prices.Normal{Mean: g[0], SD: g[1]}
		}
	}
	if s := f.Selection; s != nil {
		if len(s) != 3 || !finite(s...) {
			r.fault(r.line("", 0, "selection"), "selection", "",
				"%v are not pounds and two shares; write three numbers, such as [0, 1, 0.25]", s)
		} else {
			e.Selection = [3]float64(s)
		}
	}
}

// corrections reads how far margins differ, and about what.
func (r *settingsReader) corrections(f *evidenceFile, e *Evidence) {
	if x := f.MarginSpread; x != nil {
		if e.MarginSpread = prices.Some(*x); !(*x >= 0 && *x <= 1) {
			r.fault(r.line("", 0, "margin_spread"), "margin_spread", fmt.Sprint(*x),
				"%v is not a share of the value from 0 to 1; write a share, such as 0.08", *x)
		}
	}
	if x := f.UsualMargin; x != nil {
		if e.UsualMargin = prices.Some(*x); !finite(*x) {
			r.fault(r.line("", 0, "usual_margin"), "usual_margin", fmt.Sprint(*x),
				"%v is not an amount; write pounds, such as 300", *x)
		}
	}
}

// above reads a number that has to be above 0.
func (r *settingsReader) above(key string, x *float64, into *float64, say string) {
	if x == nil {
		return
	}
	if *into = *x; !(*x > 0) || math.IsInf(*x, 1) {
		r.fault(r.line("", 0, key), key, fmt.Sprint(*x), "%v is not above 0; %s", *x, say)
	}
}

func finite(list ...float64) bool {
	for _, x := range list {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// Corrects says whether the settings alone correct a margin for the top-bidder allowance.
func (e *Evidence) Corrects() bool {
	return e.MarginSpread.Known || e.Selection != prices.DefaultSettings().Selection
}

// leastSpread stands for a value_spread of 0, with which nothing could be learned of prices.
const leastSpread = 0.001

// PriceSettings are the shop's settings as package prices takes them. asOf is the day of
// the reckoning; zero: the latest day of any row.
func (s *Shop) PriceSettings(asOf time.Time) prices.Settings {
	e := &s.Evidence
	p := prices.DefaultSettings()
	p.AsOf, p.AdvertHalflife, p.ResultHalflife, p.ListingShare = asOf, e.AdvertHalflife, e.ResultHalflife, e.ListingShare
	p.ShareSpread, p.RivalGap, p.MilesAYear, p.Selection = e.ShareSpread, e.RivalGap, e.MilesAYear, e.Selection
	p.GuideSpread = prices.Points{s.GuideSpread.Low, s.GuideSpread.Mid, s.GuideSpread.High}
	if s.SellDays.Mid > 0 {
		p.SellDays = s.SellDays.Mid
	}
	p.VATRate, p.BidStep, p.TargetMargin = s.VATRate.Float(), s.BidStep.Pounds(), s.TargetMargin
	p.MarginSpread, p.UsualMargin = e.MarginSpread, e.UsualMargin
	p.ValueSpread = make(map[string]float64, len(s.Segments))
	for _, x := range s.Segments {
		p.ValueSpread[x.Name] = max(x.ValueSpread, leastSpread)
	}
	p.GuideShare = map[string]float64{}
	for _, c := range s.Categories {
		m := prices.Marker{Category: c.Name, Segment: c.Segment, Low: c.Share.Low, Mid: c.Share.Mid,
			High: c.Share.High, Builds: c.Builds}
		if m.Segment == "" {
			m.Segment = AnySegment
		}
		if m.High < 1 { // a marker that takes everything says nothing of prices
			p.Markers = append(p.Markers, m)
		}
		if _, known := p.GuideShare[c.Name]; c.GuideShare > 0 && (c.Segment == "" || !known) {
			p.GuideShare[c.Name] = c.GuideShare
		}
	}
	return p
}

// AnySegment is the segment of a category's row that is for all segments without their own.
const AnySegment = "*"

// written are the keys whose values are not those of an absent key.
func (e *Evidence) written() evidenceFile {
	d := prices.DefaultSettings()
	f := evidenceFile{}
	if e.MarginSpread.Known {
		f.MarginSpread = &e.MarginSpread.V
	}
	if e.UsualMargin.Known {
		f.UsualMargin = &e.UsualMargin.V
	}
	for _, k := range []struct {
		x    *float64
		d    float64
		into **float64
	}{
		{&e.AdvertHalflife, d.AdvertHalflife, &f.AdvertHalflife}, {&e.ResultHalflife, d.ResultHalflife, &f.ResultHalflife},
		{&e.ListingShare, d.ListingShare, &f.ListingShare}, {&e.MilesAYear, d.MilesAYear, &f.MilesAYear},
	} {
		if *k.x != k.d && *k.x != 0 {
			*k.into = k.x
		}
	}
	if e.ShareSpread != d.ShareSpread && e.ShareSpread != (prices.Points{}) {
		f.ShareSpread = (*points)(&e.ShareSpread)
	}
	if g := e.RivalGap; g != d.RivalGap && g.SD > 0 {
		f.RivalGap = []float64{g.Mean, g.SD}
	}
	if e.Selection != d.Selection && e.Selection != [3]float64{} {
		f.Selection = e.Selection[:]
	}
	return f
}
