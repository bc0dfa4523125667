package prices

import (
	"fmt"
	"math"
	"time"
)

// DefaultSegment is the segment of a row that names none.
const DefaultSegment = "family"

// Points are the P10, P50 and P90 of an amount or a factor.
type Points [3]float64

// A Normal is a normal distribution's mean and standard deviation.
type Normal struct{ Mean, SD float64 }

// An Optional is a number that may be missing.
type Optional struct {
	V     float64
	Known bool
}

// Some is a number that is there.
func Some(v float64) Optional { return Optional{V: v, Known: true} }

// Settings are what the shop folder says. [DefaultSettings] has the values of absent keys;
// ValueSpread and Markers have none and have to be given.
type Settings struct {
	// AsOf is the day of the reckoning; rows after it are left out. Zero: the latest day of any row.
	AsOf time.Time
	// AdvertHalflife and ResultHalflife are the days in which a row's weight halves, above 0.
	AdvertHalflife, ResultHalflife float64
	// ListingShare is the part of value_spread's variance that is the listing's error, 0 to 1; the rest is sale luck.
	ListingShare float64
	// ShareSpread and GuideSpread are factors on guide_share times the value, and on the guide.
	ShareSpread, GuideSpread Points
	// RivalGap is the prior of how much further the highest rival would have gone than the hammer price, log.
	RivalGap Normal
	// MilesAYear is what a car without an odometer reading is taken to have done a year.
	MilesAYear float64
	// SellDays is the mid of sell_days: what an advert's standing time is measured against.
	SellDays float64
	// VATRate is the standard rate, a fraction.
	VATRate float64
	// BidStep is what bids are multiples of, pounds.
	BidStep float64
	// ValueSpread is each segment's standard deviation of the log sale price.
	ValueSpread map[string]float64
	// Markers are the rows of the categories: what each takes off the price.
	Markers []Marker
	// GuideShare is each category's usual guide over value; where it has none, [UsualGuideShare] holds.
	GuideShare map[string]float64
	// Selection has the prior means of A, B and r, METHOD.md 15.27.
	Selection [3]float64
	// TargetMargin is the least mean margin worth the trouble, pounds.
	TargetMargin float64
	// UsualMargin is the mean margin of the lots of a sale, pounds; TargetMargin where it is missing.
	UsualMargin Optional
	// MarginSpread is how far true margins differ from lot to lot, as a share of the value. Where it is
	// missing every lot counts as wholly reliable, and corrections are not cut.
	MarginSpread Optional
}

// DefaultSettings has what holds where a key is absent.
func DefaultSettings() Settings {
	return Settings{
		AdvertHalflife: 180, ResultHalflife: 365, ListingShare: 0.5,
		ShareSpread: Points{0.6, 1, 1.6}, GuideSpread: usualGuideSpread, RivalGap: Normal{0.10, 0.05},
		MilesAYear: 8000, SellDays: 18, VATRate: 0.2, BidStep: 25, Selection: [3]float64{0, 1, 0}, TargetMargin: 800,
	}
}

// usualGuideSpread holds where guide_spread is absent, or says that the guide is certain.
var usualGuideSpread = Points{0.75, 1, 1.35}

// UsualGuideShare is a category's guide over value where nobody says.
func UsualGuideShare(category string) float64 {
	switch category {
	case "N":
		return 0.36
	case "S":
		return 0.26
	case "C":
		return 0.30
	case "D":
		return 0.38
	case "unrecorded":
		return 0.45
	}
	return 0.35
}

func (s *Settings) guideShare(category string) float64 {
	if share, ok := s.GuideShare[category]; ok && share > 0 {
		return share
	}
	return UsualGuideShare(category)
}

func (s *Settings) guideSpread() Points {
	if p := s.GuideSpread; p[0] > 0 && p[2] > p[0] {
		return p
	}
	return usualGuideSpread
}

// pivot is P of METHOD.md 15.25: the margin that the correction draws towards.
func (s *Settings) pivot() float64 {
	if s.UsualMargin.Known {
		return s.UsualMargin.V
	}
	return s.TargetMargin
}

// Validate returns the first setting that cannot be used, named as in shop.toml, and what to write instead.
func (s *Settings) Validate() error {
	positive := []struct {
		key, say string
		x        float64
	}{
		{"advert_halflife", "write days, such as 180", s.AdvertHalflife},
		{"result_halflife", "write days, such as 365", s.ResultHalflife},
		{"rival_gap", "write a mean and a standard deviation, such as [0.10, 0.05]", s.RivalGap.SD},
		{"miles_a_year", "write miles, such as 8000", s.MilesAYear},
		{"bid_step", "write pounds, such as 25", s.BidStep},
	}
	for _, p := range positive {
		if !(p.x > 0) || math.IsInf(p.x, 1) {
			return fmt.Errorf("%s: %v is not above 0; %s", p.key, p.x, p.say)
		}
	}
	if err := s.validateShares(); err != nil {
		return err
	}
	for _, m := range s.Markers {
		if err := m.validate(); err != nil {
			return err
		}
	}
	return nil
}

func (s *Settings) validateShares() error {
	if p := s.ShareSpread; !(p[0] > 0 && p[0] < p[2] && p[0] <= p[1] && p[1] <= p[2]) {
		return fmt.Errorf("share_spread: %v does not rise from above 0; write three factors, such as [0.6, 1, 1.6]", p)
	}
	if !(s.ListingShare > 0 && s.ListingShare < 1) {
		return fmt.Errorf("listing_share: %v is not between 0 and 1; write a fraction, such as 0.5", s.ListingShare)
	}
	if s.MarginSpread.Known && !(s.MarginSpread.V >= 0) {
		return fmt.Errorf("margin_spread: %v is below 0; write a share of the value, such as 0.08", s.MarginSpread.V)
	}
	if !(s.SellDays >= 0) || !(s.VATRate >= 0) {
		return fmt.Errorf("sell_days and vat_rate: %v and %v must not be below 0", s.SellDays, s.VATRate)
	}
	return s.validateSpreads()
}

func (s *Settings) validateSpreads() error {
	if len(s.ValueSpread) == 0 {
		return fmt.Errorf("value_spread: no car type has one; write one for each car type, such as 0.08")
	}
	for name, v := range s.ValueSpread {
		if !(v > 0) || v > 2 {
			return fmt.Errorf("value_spread of %s: %v is not above 0 and at most 2; write a fraction, such as 0.08", name, v)
		}
	}
	return nil
}
