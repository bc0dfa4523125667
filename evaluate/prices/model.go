package prices

import (
	"fmt"
	"math"
	"time"
)

// A Model is all that the evidence says. It does not change once fitted, and may be used from several goroutines.
type Model struct {
	// AsOf is the day of the reckoning: the settings', else the latest day of any row; zero without rows.
	AsOf time.Time

	settings   Settings
	market     *market
	bare       *hammers
	guided     *hammers
	told       Told
	results    int
	sites      map[string]*Site
	notices    []Notice
	markerSeen map[int][2]int // by marker row: adverts, own sales
	names      *names
}

// Fit works everything out. It fails where a setting cannot be used; a row that cannot be used is left out with a
// notice of kind [Unusable]. The order of the rows changes nothing.
func Fit(adverts []Advert, results []Result, builds []Build, settings Settings) (*Model, error) {
	m, past, err := fitValues(adverts, results, builds, settings)
	if err != nil {
		return nil, err
	}
	if m.bare, err = fitHammers(&m.settings, past, false, false); err != nil {
		return nil, err
	}
	if m.guided, err = fitHammers(&m.settings, past, true, false); err != nil {
		return nil, err
	}
	m.results = len(m.bare.used)
	if m.told, err = m.fitTold(m.readBuilds(builds)); err != nil {
		return nil, err
	}
	m.noteMistyped()
	m.noteSpelling(adverts, results)
	sortNotices(m.notices)
	return m, nil
}

// fitValues fits model 1 and gives every past lot its value.
func fitValues(adverts []Advert, results []Result, builds []Build, settings Settings) (*Model, []past, error) {
	if err := settings.Validate(); err != nil {
		return nil, nil, err
	}
	m := &Model{settings: settings, AsOf: settings.AsOf, sites: map[string]*Site{}, markerSeen: map[int][2]int{}}
	if m.AsOf.IsZero() {
		m.AsOf = latest(adverts, results, builds)
	}
	sales := m.readAdverts(adverts)
	for i := range sales {
		m.countMarks(&sales[i])
	}
	rows := m.readResults(results)
	sales = append(sales, m.pastListings(rows)...)
	var err error
	if m.market, err = fitMarket(&m.settings, sales); err != nil {
		return nil, nil, err
	}
	return m, m.pasts(rows), nil
}

// latest is the latest day of any row.
func latest(adverts []Advert, results []Result, builds []Build) time.Time {
	var day time.Time
	see := func(d time.Time) {
		if d.After(day) {
			day = d
		}
	}
	for i := range adverts {
		see(adverts[i].Day())
	}
	for i := range results {
		see(results[i].SaleDate)
	}
	for i := range builds {
		see(builds[i].SaleDate)
	}
	return day
}

func (m *Model) tell(n Notice) { m.notices = append(m.notices, n) }

// countMarks counts the cars behind each marker row.
func (m *Model) countMarks(s *sale) {
	if s.fade == 0 {
		return
	}
	for _, row := range s.mark.rows {
		if row >= 0 {
			c := m.markerSeen[row]
			if s.got > 0 {
				c[1]++
			} else {
				c[0]++
			}
			m.markerSeen[row] = c
		}
	}
}

// pasts are the past lots as model 2 takes them: without a value in the list they get model 1's.
func (m *Model) pasts(rows []Result) []past {
	out := make([]past, 0, len(rows))
	for i := range rows {
		r := &rows[i]
		if r.Hammer <= 0 {
			continue
		}
		days := daysBetween(r.SaleDate, m.AsOf)
		if _, counts := faded(days, m.settings.ResultHalflife); !counts {
			m.tell(Notice{TooOld, ResultsFile, r.Line, "sale_date", tooOld(r.SaleDate, m.AsOf, m.settings.ResultHalflife)})
			continue
		}
		p, err := m.past(&r.Lot)
		if err != nil {
			m.tell(Notice{NoValue, ResultsFile, r.Line, "value", err.Error() + "; until then the row says nothing of the price"})
			continue
		}
		if r.Stop > 0 && r.Won == Unknown {
			m.tell(Notice{WonBlank, ResultsFile, r.Line, "won",
				"blank, and stop is given; write yes or no: until then the row does not say how far rivals would have gone"})
		}
		p.line, p.hammer, p.stop, p.won = r.Line, r.Hammer, r.Stop, r.Won
		out = append(out, p)
	}
	return out
}

// past is a lot as model 2 takes it.
func (m *Model) past(l *Lot) (past, error) {
	p := past{value: l.Value, guide: l.Guide, category: l.Category, site: fold(l.Site),
		share:  m.settings.guideShare(l.Category),
		repair: l.Repair, starts: lacks(l.Starts), keys: lacks(l.Keys), days: m.daysBefore(l.SaleDate)}
	if l.VATPlus {
		p.vat = 1
	}
	if !(p.value > 0) {
		v, err := m.Value(l)
		if err != nil {
			return past{}, err
		}
		p.value = v.Mean
	}
	return p, nil
}

// daysBefore is how many days before the as-of day a sale is; 0 where either day is missing.
func (m *Model) daysBefore(sale time.Time) int {
	if m.AsOf.IsZero() || sale.IsZero() {
		return 0
	}
	return daysBetween(sale, m.AsOf)
}

// lacks is 1 for no, 0.5 for unknown.
func lacks(a Answer) float64 {
	switch a {
	case Yes:
		return 0
	case No:
		return 1
	}
	return 0.5
}

// readBuilds leaves out builds after the as-of day and those that cannot be used.
func (m *Model) readBuilds(builds []Build) []Build {
	var out []Build
	for i := range builds {
		b := builds[i]
		switch {
		case !b.SaleDate.IsZero() && daysBetween(m.AsOf, b.SaleDate) > 0:
			m.tell(Notice{AfterAsOf, BuildsFile, b.Line, "sale_date", m.afterAsOf(b.SaleDate)})
		case !(b.MarginSD > 0) || math.IsInf(b.MarginSD, 1):
			m.tell(Notice{Unusable, BuildsFile, b.Line, "margin_sd",
				fmt.Sprintf("%v is not above 0; write pounds, such as 1500", b.MarginSD)})
		case !(b.RepairSD >= 0) || !finite(b.RepairSD, b.U, b.Predicted, b.Realised, b.Value.V, b.Tau.V):
			m.tell(Notice{Unusable, BuildsFile, b.Line, "repair_sd", "an amount is below 0 or no number; write pounds"})
		default:
			out = append(out, b)
		}
	}
	sortBuilds(out)
	return out
}

func finite(list ...float64) bool {
	for _, x := range list {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// Price is the distribution of the price to beat, METHOD.md 15.20. The regression with a guide answers for lots
// that have one, the other for the rest. It fails, with the words of [Model.Value], for a lot with neither guide
// nor value that adverts do not give one either. With a guide alone, the value is taken to be the guide over
// guide_share.
func (m *Model) Price(l *Lot) (Price, error) {
	p, err := m.past(l)
	if err != nil {
		if !(l.Guide > 0) {
			return Price{}, err
		}
		with := *l
		with.Value = l.Guide / m.settings.guideShare(l.Category)
		if p, err = m.past(&with); err != nil {
			return Price{}, err
		}
	}
	h, source := m.bare, PriceFromShare
	switch {
	case l.Guide > 0 && m.results > 0:
		h, source = m.guided, PriceFromBoth
	case l.Guide > 0:
		h, source = m.guided, PriceFromGuide
	case m.results > 0:
		source = PriceFromResults
	}
	return h.price(&p, source), nil
}

func (h *hammers) price(p *past, source PriceSource) Price {
	location, scale := h.foretell(p)
	return Price{Location: location + h.gap, Scale: scale, DF: h.fit.df(), Gap: h.gap, Source: source,
		Results: len(h.used),
		Weight:  h.total, curve: h.curve}
}

// HasResults says whether any past lot counts: without one the guide stands for the price.
func (m *Model) HasResults() bool { return m.results > 0 }

// Told is what won cars tell of promised margins.
func (m *Model) Told() Told { return m.told }

// Notices are what a person should know of the rows, by file and line.
func (m *Model) Notices() []Notice { return m.notices }

// noteMistyped names the rows that hardly count.
func (m *Model) noteMistyped() {
	k := m.market
	for i := range k.rows {
		r := &k.rows[i]
		if r.weight >= doubtfulAdvert {
			continue
		}
		off := r.y - k.fitted(r)
		switch r.kind {
		case priceRow:
			m.tell(Notice{Mistyped, AdvertsFile, r.line, "asked", mistyped(r.amount, off)})
		case haggleRow:
			m.tell(Notice{Mistyped, AdvertsFile, r.line, "asked",
				"it does not fit the price received; it hardly counts: mistyped?"})
		case listedRow:
			m.tell(Notice{Mistyped, AdvertsFile, r.line, "listed",
				"it does not fit the price received; it hardly counts: mistyped?"})
		case listingRow:
			m.tell(Notice{Mistyped, ResultsFile, r.line, "value", mistyped(r.amount, off)})
		}
	}
	told := map[int]bool{}
	for _, h := range []*hammers{m.guided, m.bare} {
		for i := range h.used {
			if r := &h.used[i]; r.plausible < doubtfulHammer && !told[r.line] {
				told[r.line] = true
				m.tell(Notice{Mistyped, ResultsFile, r.line, "hammer", mistyped(r.hammer, r.unusual)})
			}
		}
	}
}

// Rows below these weights are named.
const doubtfulAdvert, doubtfulHammer = 0.2, 0.5
