package build

import (
	"fmt"
	"slices"

	"wreckoner/damage"
	"wreckoner/damage/costs"
	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/stats"
)

// validate says what in a frozen estimate cannot be computed with, as a file may have
// a digest that fits and still come from elsewhere.
func (f *Frozen) validate() error {
	if err := simulate.CheckPoints(f.Points); err != nil {
		return err
	}
	if f.Build == "" || f.Hammer <= 0 {
		return fmt.Errorf("the build has no name or no price")
	}
	if err := f.Predicted.validate(); err != nil {
		return err
	}
	for _, s := range f.Walk.Steps {
		if s.Part == deal.PartRepair {
			if err := soundSpot(s.Zone, s.Class); err != nil {
				return err
			}
		}
	}
	if _, err := f.Lot(); err != nil {
		return err
	}
	return soundAmounts(f.workshop)
}

// validate says what in the figures of an estimate cannot be computed with.
func (x *Predicted) validate() error {
	for _, p := range []*Forecast{&x.Repair, &x.Hours, &x.Days, &x.Other, &x.Resale, &x.Margin} {
		if err := p.validate(); err != nil {
			return err
		}
	}
	for i := range x.Classes {
		c := &x.Classes[i]
		if _, err := damage.ParseClass(c.Class); err != nil {
			return err
		}
		if err := c.validate(); err != nil {
			return err
		}
	}
	for i := range x.Spots {
		s := &x.Spots[i]
		if err := soundSpot(s.Zone, s.Class); err != nil {
			return err
		}
		if err := s.validate(); err != nil {
			return err
		}
	}
	for _, c := range x.Candidates {
		if err := soundSpot(c.Zone, c.Class); err != nil {
			return err
		}
		if !damage.Grade(c.Grade).Valid() || c.Grade > damage.GradeCount {
			return fmt.Errorf("%s %s%d is not a damage code", c.Zone, c.Class, c.Grade)
		}
	}
	return nil
}

func (f *Forecast) validate() error {
	if len(f.Quantiles) == 0 || !slices.IsSorted(f.Quantiles) {
		return fmt.Errorf("a range whose figures do not rise")
	}
	return nil
}

func soundSpot(zone, class string) error {
	if _, err := damage.ParseZone(zone); err != nil {
		return err
	}
	_, err := damage.ParseClass(class)
	return err
}

func soundAmounts(s *shop.Shop) error {
	all := []stats.Amount{s.LeadSpread, s.SellDays, s.GuideSpread, s.Categories[0].Share}
	for _, c := range s.Fixed {
		all = append(all, c.Amount)
	}
	for _, x := range s.Extras {
		all = append(all, x.Amount)
	}
	for _, r := range s.Costs.Rows() {
		if !(r.Builds > 0) {
			return fmt.Errorf("the estimate's cost table: %s has %v builds behind it", r.Name(), r.Builds)
		}
		all = append(all, r.Spend, r.Hours)
	}
	for _, a := range all {
		if _, err := stats.New(a.Low, a.Mid, a.High, a.Shape); err != nil {
			return err
		}
	}
	if i := slices.IndexFunc(s.Costs.Rules(), func(r costs.Rule) bool {
		return !(r.Chance >= 0 && r.Chance <= 1) ||
			r.Seen < 0
	}); i >= 0 {
		return fmt.Errorf("the estimate's rule %s has no chance between 0 and 1", s.Costs.Rules()[i].Name())
	}
	_, err := evaluate.New(s, evaluate.Options{Points: 64})
	return err
}
