package floor

// weekDays is a week.
const weekDays = 7

// run is one simulated future of the whole floor.
type run struct {
	rule  Rule
	hours float64 // a day
	weeks int

	ways    []*Way
	delay   []float64
	planned []float64 // own hours left as believed, which is all that the rule knows
	age     []float64

	left, worked []float64
	ready, sold  []float64
	// did are the hours worked in each week, queue those that could be worked at its end.
	did, queue []float64
}

func newRun(cars []Car, s *Settings) *run {
	n := len(cars)
	r := &run{
		rule:    s.Rule,
		hours:   s.HoursPerDay,
		weeks:   s.Weeks,
		ways:    make([]*Way, n),
		delay:   make([]float64, n),
		planned: make([]float64, n),
		age:     make([]float64, n),
		left: make(
			[]float64,
			n,
		),
		worked: make([]float64, n),
		ready:  make([]float64, n),
		sold:   make([]float64, n),
		did:    make([]float64, s.Weeks),
		queue:  make([]float64, s.Weeks),
	}
	for i := range cars {
		r.delay[i], r.planned[i], r.age[i] = cars[i].Delay, cars[i].hours(), cars[i].Since
	}
	return r
}

// least is the share of the hours believed at first that a car is still taken to want when
// it has had them all.
const least = 0.1

// rank is what the rule puts first, largest first.
func (r *run) rank(i int) float64 {
	if r.rule == Oldest {
		return r.age[i]
	}
	return Work{Delay: r.delay[i], Hours: max(r.planned[i]-r.worked[i], least*r.planned[i])}.index()
}

// pick returns the car to work on at a time, or -1, and the next time at which another may
// be picked: when parts come for one, or a week ends.
func (r *run) pick(at float64, week int) (best int, until float64) {
	best, until = -1, float64(week+1)*weekDays
	if week >= r.weeks {
		until = never
	}
	for i, w := range r.ways {
		switch {
		case r.left[i] <= 0:
		case w.Start > at:
			until = min(until, w.Start)
		case best < 0 || r.rank(i) > r.rank(best):
			best = i
		}
	}
	return best, until
}

const never = 1e12

// play fills in when each car is ready and sold, and what was worked.
func (r *run) play() {
	clear(r.did)
	clear(r.queue)
	clear(r.worked)
	for i, w := range r.ways {
		r.left[i] = w.Hours
		if w.Hours <= 0 {
			r.done(i, w.Start)
		}
	}
	at, week := 0.0, 0
	for {
		i, until := r.pick(at, week)
		if i < 0 && until >= never {
			return
		}
		if i < 0 {
			at = until
		} else if finish := at + r.left[i]/r.hours; finish <= until {
			r.book(i, r.left[i], week)
			r.left[i], at = 0, finish
			r.done(i, at)
		} else {
			h := (until - at) * r.hours
			r.book(i, h, week)
			r.left[i], at = max(1e-9, r.left[i]-h), until
		}
		if week < r.weeks && at >= float64(week+1)*weekDays {
			r.endWeek(week, at)
			week++
		}
	}
}

func (r *run) done(i int, at float64) {
	r.ready[i] = at + r.ways[i].Finish
	r.sold[i] = r.ready[i] + r.ways[i].Sell
}

func (r *run) book(i int, hours float64, week int) {
	r.worked[i] += hours
	if week < r.weeks {
		r.did[week] += hours
	}
}

func (r *run) endWeek(week int, at float64) {
	for i, w := range r.ways {
		if r.left[i] > 0 && w.Start <= at {
			r.queue[week] += r.left[i]
		}
	}
}

// tied returns the cash that the cars tie up at a time, and the bays that they take.
func (r *run) tied(cars []Car, at float64) (cash float64, bays int) {
	for i, w := range r.ways {
		if r.sold[i] <= at {
			continue
		}
		if cash += cars[i].MoneyIn; w.Ordered <= at {
			cash += w.ToPay
		}
		if cars[i].Stage.InBay() && w.Yard <= at && r.ready[i] > at {
			bays++
		}
	}
	return cash, bays
}
