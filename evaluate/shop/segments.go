package shop

import (
	"fmt"
	"strings"
	"wreckoner/damage"

	"wreckoner/evaluate/stats"

	"wreckoner/evaluate/tabular"
)

// Kinds of car, and write-off categories, as segments.csv and categories.csv have them.

type segmentRow struct {
	Segment     tabular.Cell `csv:"segment"`
	Spend       tabular.Cell `csv:"spend"`
	Hours       tabular.Cell `csv:"hours"`
	ValueSpread tabular.Cell `csv:"value_spread"`
	S           tabular.Cell `csv:"s,omitempty"`
	C           tabular.Cell `csv:"c,omitempty"`
	R           tabular.Cell `csv:"r,omitempty"`
	M           tabular.Cell `csv:"m,omitempty"`
	E           tabular.Cell `csv:"e,omitempty"`
	Sell        tabular.Cell `csv:"sell,omitempty"`
	Called      tabular.Cell `csv:"called,omitempty"`
	InName      tabular.Cell `csv:"in_name,omitempty"`
}

func (r *shopReader) segments() error {
	return each(r, SegmentsFile, func(v *segmentRow, k *tabular.Check) {
		s := Segment{Name: k.Name("segment", v.Segment, nameless)}
		if _, dup := r.shop.Segment(s.Name); dup {
			k.Bad("segment", fmt.Errorf("%q has two rows; keep one", s.Name))
		}
		if k.Failed {
			return
		}
		s.Spend, s.Hours = multiplier(k, "spend", v.Spend), multiplier(k, "hours", v.Hours)
		for c, cell := range []tabular.Cell{v.S, v.C, v.R, v.M, v.E} { // in the order of classes
			if cell.Given() {
				s.Classes[c] = multiplier(k, damage.Class(c).Letter(), cell)
			}
		}
		if v.Sell.Given() {
			s.Sell = multiplier(k, "sell", v.Sell)
		}
		s.Called, s.InName = names(v.Called), names(v.InName)
		if v.Called.State == tabular.Absent {
			s.Called, s.InName = starterNames(s.Name)
		}
		if s.ValueSpread = k.Number("value_spread", v.ValueSpread, 0, 2); !k.Failed {
			r.shop.Segments = append(r.shop.Segments, s)
		}
	})
}

type categoryRow struct {
	Category   tabular.Cell `csv:"category"`
	Rebuild    tabular.Cell `csv:"rebuild"`
	Low        tabular.Cell `csv:"low"`
	Mid        tabular.Cell `csv:"mid"`
	High       tabular.Cell `csv:"high"`
	Builds     tabular.Cell `csv:"builds"`
	Segment    tabular.Cell `csv:"segment,omitempty"`
	Note       tabular.Cell `csv:"note,omitempty"`
	GuideShare tabular.Cell `csv:"guide_share,omitempty"`
	Sell       tabular.Cell `csv:"sell,omitempty"`
}

func (r *shopReader) categories() error {
	return each(r, CategoriesFile, func(v *categoryRow, k *tabular.Check) {
		c := Category{Name: k.Name("category", v.Category, nameless), Note: v.Note.Text()}
		if k.Failed {
			return
		}
		c.Rebuild = k.YesNo("rebuild", v.Rebuild)
		if c.Rebuild && (strings.EqualFold(c.Name, "A") || strings.EqualFold(c.Name, "B")) {
			r.notices = append(r.notices,
				fmt.Sprintf("%s: category %s is marked as one that may be rebuilt; where A and B are insurers' categories, "+
					"such a car may not go back on the road", r.shown(CategoriesFile), c.Name))
		}
		c.Segment = r.onlySegment(k, v.Segment)
		for _, o := range r.shop.Categories {
			if strings.EqualFold(o.Name, c.Name) && strings.EqualFold(o.Segment, c.Segment) {
				k.Bad("category", fmt.Errorf("%q has two rows for the same car type; keep one", c.Name))
			}
		}
		low, mid, high := k.Share("low", v.Low), k.Share("mid", v.Mid), k.Share("high", v.High)
		c.Builds = k.Number("builds", v.Builds, 0, 1e6)
		if v.GuideShare.Given() {
			c.GuideShare = k.Share("guide_share", v.GuideShare)
		}
		var err error
		c.Sell, err = sellTimes(v.Sell)
		k.Bad("sell", err)
		if !k.Failed {
			c.Share, err = stats.New(low, mid, high, stats.Skewed)
			k.Bad("mid", err)
		}
		if !k.Failed {
			r.shop.Categories = append(r.shop.Categories, c)
		}
	})
}

// onlySegment reads the kind of car that a row is for, "" for any.
func (r *shopReader) onlySegment(k *tabular.Check, c tabular.Cell) string {
	name := anyAs(c.Text(), "")
	if name == "" {
		return ""
	}
	if _, ok := r.shop.Segment(name); !ok {
		var names []string
		for _, s := range r.shop.Segments {
			names = append(names, s.Name)
		}
		k.Bad("segment", tabular.Unknown("car type", name, names))
	}
	return name
}

// sellTimes reads what a row multiplies the days to sell by: a twentieth to twenty
// times; 0 where it is blank.
func sellTimes(c tabular.Cell) (float64, error) {
	if !c.Given() {
		return 0, nil
	}
	x, err := c.Number(0, 1e6)
	if err == nil && (x < 0.05 || x > 20) {
		err = fmt.Errorf("%v times the days to sell is out of range; write a number from 0.05 to 20, 1 to leave "+
			"sell_days as it is", x)
	}
	return x, err
}
