package plan

// Details are all that a plan was worked out from, so that anyone can check it by
// another program. Lots are in closing order, those left out of which nothing is
// known any more: gone, or closed at a price not heard. Amounts are pounds.
type Details struct {
	BidStep float64       `json:"bid_step"`
	Spread  [3]float64    `json:"spread"` // low, mid, high, factors of the guide
	Gap     float64       `json:"gap"`
	Lots    []LotDetails  `json:"lots"`
	Sold    []SoldDetails `json:"sold,omitempty"`
}

// LotDetails are those of one lot. Margin and Tied are at 1, 2, 3 ... bid steps.
type LotDetails struct {
	Lot     string         `json:"lot"`
	Guide   *float64       `json:"guide"`
	Hammer  *HammerDetails `json:"hammer"` // nil: not known
	Opening float64        `json:"opening"`
	Cap     float64        `json:"cap"` // the lot's own limit
	Margin  []float64      `json:"margin"`
	Tied    []float64      `json:"tied"`
	Score   [3]float64     `json:"score"`
	SD      float64        `json:"sd"`
	Repair  float64        `json:"repair"`
	Resale  float64        `json:"resale"`
}

// HammerDetails are the hammer price without us, the gap not in it: P10, P50 and P90;
// or location, scale and degrees of freedom of its logarithm.
type HammerDetails struct {
	Low      *float64 `json:"low,omitempty"`
	Mid      *float64 `json:"mid,omitempty"`
	High     *float64 `json:"high,omitempty"`
	Location *float64 `json:"location,omitempty"`
	Scale    *float64 `json:"scale,omitempty"`
	DF       *float64 `json:"df,omitempty"`
}

// SoldDetails are those of a lot that has closed.
type SoldDetails struct {
	Lot    string  `json:"lot"`
	Hammer float64 `json:"hammer"`
	Won    bool    `json:"won"`
}

// Details returns what the plan was worked out from; spread is what the three
// points of a hammer are of its guide.
func (p *Plan) Details(spread [3]float64) Details {
	out := Details{BidStep: p.settings.BidStep, Spread: spread, Gap: p.settings.Gap}
	heard := map[int]bool{}
	for _, x := range p.sold {
		if x.Heard {
			heard[x.Lot] = true
			out.Sold = append(out.Sold, SoldDetails{p.all[x.Lot].Name, x.Hammer, x.Won})
		}
	}
	for i := range p.all {
		if i >= p.Standing.First || heard[i] {
			out.Lots = append(out.Lots, p.all[i].details())
		}
	}
	return out
}

func (l *Lot) details() LotDetails {
	d := LotDetails{
		Lot: l.Name, Hammer: detailsOf(l.Hammer), Opening: l.Opening, Cap: l.Limit, Margin: l.Margin, Tied: l.Tied,
		Score: l.Score, SD: l.SD, Repair: l.Repair, Resale: l.Resale,
	}
	if l.Guide > 0 {
		d.Guide = &l.Guide
	}
	return d
}

func detailsOf(h Hammer) *HammerDetails {
	if !h.Known() {
		return nil
	}
	if location, scale, df, ok := h.Learned(); ok {
		return &HammerDetails{Location: &location, Scale: &scale, DF: &df}
	}
	low, mid, high := h.At(-z90), h.At(0), h.At(z90)
	return &HammerDetails{Low: &low, Mid: &mid, High: &high}
}
