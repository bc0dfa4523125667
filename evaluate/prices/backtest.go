package prices

import (
	"maps"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
)

// A Score is how well prices were foretold: METHOD.md 15.34. CRPS is in log units for hammer prices and a share of
// the price for own sales; of two, the smaller is better.
type Score struct {
	// Lots is how many were foretold; Inside how many of them fell inside their 8 in 10.
	Lots, Inside int
	// CRPS is the mean score of what the evidence said, FixedCRPS of the fixed factor; FixedInside as Inside.
	CRPS, FixedCRPS float64
	FixedInside     int
}

func (s *Score) add(crps, fixed float64, inside, fixedInside bool) {
	s.CRPS += (crps - s.CRPS) / float64(s.Lots+1)
	s.FixedCRPS += (fixed - s.FixedCRPS) / float64(s.Lots+1)
	s.Lots++
	if inside {
		s.Inside++
	}
	if fixedInside {
		s.FixedInside++
	}
}

// A BacktestReport is what the evidence would have said, every sale day foretold from the days before it.
type BacktestReport struct {
	// Guided are hammer prices of lots with a guide, against guide_spread around the guide; Bare those without, against
	// share_spread around guide_share of the value; Days how many sale days.
	Guided, Bare Score
	Days         int
	// Sales are own sales' prices, against the listing, its segment's spread and the category's row. Own sales without
	// `listed` are not among them.
	Sales Score
}

// Backtest foretells every past hammer price and own sale from the rows of earlier days. It fails where [Fit]
// does. Rows that cannot be used are left out, as in Fit.
func Backtest(adverts []Advert, results []Result, settings Settings) (BacktestReport, error) {
	var report BacktestReport
	lots, sales := hammersByDay(results), salesByDay(adverts)
	report.Days = len(lots)
	days := map[int]bool{}
	for d := range lots {
		days[d] = true
	}
	for d := range sales {
		days[d] = true
	}
	for _, d := range slices.Sorted(maps.Keys(days)) {
		slices.SortFunc(lots[d], func(a, b Result) int { return compareResults(&a, &b) })
		slices.SortFunc(sales[d], func(a, b Advert) int { return compareAdverts(&a, &b) })
		if err := report.foretell(d, lots[d], sales[d], adverts, results, settings); err != nil {
			return BacktestReport{}, err
		}
	}
	return report, nil
}

// hammersByDay are the lots that were sold, by day.
func hammersByDay(results []Result) map[int][]Result {
	out := map[int][]Result{}
	for i := range results {
		r := &results[i]
		if r.Hammer > 0 && r.Outcome != Withdrawn && r.Outcome != Unsold && !r.SaleDate.IsZero() {
			out[civil(r.SaleDate)] = append(out[civil(r.SaleDate)], *r)
		}
	}
	return out
}

// salesByDay are the own sales whose lot had a value in the list, by day.
func salesByDay(adverts []Advert) map[int][]Advert {
	out := map[int][]Advert{}
	for i := range adverts {
		if a := &adverts[i]; a.Got > 0 && a.Listed > 0 && !a.Day().IsZero() {
			out[civil(a.Day())] = append(out[civil(a.Day())], *a)
		}
	}
	return out
}

// earlier keeps the rows of days before one.
func earlier[T any](rows []T, day int, of func(*T) time.Time) []T {
	var out []T
	for i := range rows {
		if d := of(&rows[i]); !d.IsZero() && civil(d) < day {
			out = append(out, rows[i])
		}
	}
	return out
}

// foretell fits what was known before a day and scores the day.
func (b *BacktestReport) foretell(day int, lots []Result, sold []Advert, adverts []Advert, results []Result,
	settings Settings) error {
	known := earlier(adverts, day, (*Advert).Day)
	before := earlier(results, day, func(r *Result) time.Time { return r.SaleDate })
	if len(lots) > 0 {
		settings.AsOf = lots[0].SaleDate
	} else {
		settings.AsOf = sold[0].Day()
	}
	m, past, err := fitValues(known, before, nil, settings)
	if err != nil {
		return err
	}
	for i := range sold {
		b.scoreSale(m, &sold[i])
	}
	for _, guided := range []bool{false, true} {
		h, err := fitHammers(&m.settings, past, guided, true)
		if err != nil {
			return err
		}
		empty, err := fitHammers(&m.settings, nil, guided, true)
		if err != nil {
			return err
		}
		for i := range lots {
			if lots[i].Guide > 0 == guided {
				b.scoreLot(m, &lots[i], h, empty)
			}
		}
	}
	return nil
}

// scoreLot scores one hammer price. A lot to which nothing gives a value is left out.
func (b *BacktestReport) scoreLot(m *Model, r *Result, h, empty *hammers) {
	if _, text := m.resultProblem(r); text != "" {
		return
	}
	l := r.Lot
	l.Segment = segmentOf(l.Segment)
	p, err := m.past(&l)
	if err != nil {
		return
	}
	y, score := math.Log(r.Hammer), &b.Bare
	location, scale := h.foretell(&p)
	df := h.fit.df()
	crps, in := crpsT(y, location, scale, df), inside(y, location, scale, df)
	if h.guided {
		score = &b.Guided
		spread := m.settings.guideSpread()
		centre, sd := math.Log(r.Guide*spread[1]), 0.5*math.Log(spread[2]/spread[0])/z90
		score.add(crps, crpsNormal(y, centre, sd), in, math.Abs(y-centre) < z90*sd)
		return
	}
	location, scale = empty.foretell(&p)
	df = empty.fit.df()
	score.add(crps, crpsT(y, location, scale, df), in, inside(y, location, scale, df))
}

func inside(y, location, scale, df float64) bool {
	return math.Abs(y-location)/scale < (distuv.StudentsT{Sigma: 1, Nu: df}).Quantile(0.9)
}

// scoreSale scores the price of one own sale.
func (b *BacktestReport) scoreSale(m *Model, a *Advert) {
	if _, text := m.advertProblem(a); text != "" {
		return
	}
	l := Lot{Make: a.Make, Model: a.Model, Segment: segmentOf(a.Segment), Year: a.Year, Miles: Some(a.Miles),
		Value:    a.Listed,
		SaleDate: a.Day()}
	v, err := m.Value(&l)
	if err != nil {
		return
	}
	spread := m.settings.ValueSpread[l.Segment]
	centre, sd := v.Centre, v.Spread
	fixedCentre, fixedSD := math.Log(a.Listed)-spread*spread/2, spread
	if a.Marked != "" && a.Marked != "no" && a.Marked != MarkedYes {
		k, err := m.Marker(a.Marked, l.Segment)
		if err != nil {
			return
		}
		prior := m.settings.Markers[m.settings.row(a.Marked, l.Segment)].prior()
		centre, sd = centre+k.Centre, math.Hypot(sd, k.SD)
		fixedCentre, fixedSD = fixedCentre+prior.centre, math.Hypot(fixedSD, prior.sd)
	}
	got := a.Got
	if a.VATPlus {
		got *= 1 + m.settings.VATRate
	}
	y := math.Log(got)
	b.Sales.add(crpsLognormal(got, centre, sd)/got, crpsLognormal(got, fixedCentre, fixedSD)/got,
		math.Abs(y-centre) < z90*sd, math.Abs(y-fixedCentre) < z90*fixedSD)
}
