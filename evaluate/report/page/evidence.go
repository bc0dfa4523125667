package page

import (
	"fmt"
	"html/template"

	"wreckoner/evaluate"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
	"wreckoner/evaluate/tabular"
)

// evidence draws what the shop's adverts say of the lot's car, and what its past lots say of the
// site; both stay blank where there are none.
func (p *panel) evidence(r *evaluate.Result, m *prices.Model, f figures) (err error) {
	if r.Appraisal == nil || m == nil {
		return nil
	}
	l := r.Appraisal.Lot
	seen, bands := m.Seen(&l)
	seen, far := near(seen, bands)
	if len(seen) > 1 {
		if p.Adverts, err = advertCurve(r, seen, bands, f); err != nil {
			return err
		}
		p.AdvertWords = fmt.Sprintf("%s of this model or own sales, each at this car's mileage and unmarked",
			tabular.Count(len(seen), "advert"))
		if far > 0 {
			p.AdvertWords += fmt.Sprintf("; %d far from the line left out", far)
		}
	}
	if past := m.Knocked(l.Site); len(past) > 1 {
		if p.Past, err = pastCurve(r, past, f); err != nil {
			return err
		}
		p.PastWords = tabular.Count(len(past),
			"past lot") + " of " + report.Clean(siteWords(l.Site)) + " that had a guide price"
	}
	return nil
}

// near leaves out what lies more than two and a half times off the line, such as a price with a digit
// too many, which would flatten the picture; far is how many.
func near(seen []prices.Seen, bands []prices.Band) (kept []prices.Seen, far int) {
	for _, s := range seen {
		i := 0
		for i < len(bands)-1 && bands[i].Age < s.Age {
			i++
		}
		if ratio := s.Price / bands[i].Mid; ratio > 2.5 || ratio < 1/2.5 {
			far++
			continue
		}
		kept = append(kept, s)
	}
	return kept, far
}

func siteWords(site string) string {
	if site == "" {
		return "lots without a site"
	}
	return site
}

// advertCurve draws adverts as dots by age, the line through them with the range that 8 sales in
// 10 end in, and the lot's own point.
func advertCurve(r *evaluate.Result, seen []prices.Seen, bands []prices.Band, f figures) (template.HTML, error) {
	c := draw.Curve{
		Frame: draw.Frame{Title: "What adverts say of " + report.CarWords(r)},
		X:     draw.Axis{Label: "age in years", Format: draw.Format{Decimals: 1}},
		Y:     draw.Axis{Label: "price, unmarked", Format: f.format},
		Lines: []draw.Line{{Name: "by adverts"}, {Name: "1 in 10 above"}, {Name: "1 in 10 below"}},
	}
	for _, s := range seen {
		c.Dots = append(c.Dots, draw.Point{X: s.Age, Y: s.Price})
	}
	if bands[0].Age < bands[len(bands)-1].Age {
		for _, b := range bands {
			for k, y := range []float64{b.Mid, b.High, b.Low} {
				c.Lines[k].Points = append(c.Lines[k].Points, draw.Point{X: b.Age, Y: y})
			}
		}
	} else {
		c.Lines = nil
	}
	c.Marks = []draw.Mark{{Label: "this car, age", X: r.Appraisal.Age, Y: r.Appraisal.Value.Mean}}
	return c.SVG()
}

// pastCurve draws what the site's lots were knocked down at against their guide prices, the line
// where both are equal, and the lot's own guide and expected price.
func pastCurve(r *evaluate.Result, past []prices.Knocked, f figures) (template.HTML, error) {
	c := draw.Curve{
		Frame: draw.Frame{Title: "Guide against hammer price at " + siteWords(r.Appraisal.Lot.Site)},
		X:     draw.Axis{Label: "guide price", Format: f.format}, Y: draw.Axis{Label: "hammer price", Format: f.format},
	}
	low, high := past[0].Guide, past[len(past)-1].Guide
	for _, k := range past {
		c.Dots = append(c.Dots, draw.Point{X: k.Guide, Y: k.Hammer})
	}
	if low < high {
		c.Lines = []draw.Line{{Name: "hammer = guide", Points: []draw.Point{{X: low, Y: low}, {X: high, Y: high}}}}
	}
	if g := r.Guide.Pounds(); g > 0 {
		c.Marks = append(c.Marks, draw.Mark{Label: "this lot, guide", X: g, Y: r.Appraisal.Price.HammerQuantile(0.5)})
	}
	return c.SVG()
}
