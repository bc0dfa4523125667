package plan

import "math"

// A Sheet has the stops of each lot by money left, at even levels, each with the bays
// that are likeliest to be free then. The nearest level is read.
type Sheet struct {
	Levels []float64 // pounds, rising
	Bays   []int
	Stops  [][]float64 // [lot to come][level], pounds; 0: no bid
}

// A Table has the stops of each lot by free bays and money left.
type Table struct {
	Levels []float64     // pounds, rising
	Stops  [][][]float64 // [lot to come][free bays - 1][level]
	step   float64
	tied   []*ladder
	anyway bool // money is not limited
}

// An After is a stop after so many lots were bought.
type After struct {
	Bought int
	Chance float64 // of being there when the lot closes
	Cash   float64 // mean money then left, pounds
	Stop   float64
}

// levels returns even levels of money up to the most; one level, 0, where money is not limited.
func (p *Plan) levels(count int) []float64 {
	if p.anyCash {
		return []float64{0}
	}
	out := make([]float64, count)
	for a := range out {
		out[a] = p.most * float64(a+1) / float64(count)
	}
	return out
}

// A sighting is the chance of states, all lots' added up, and each lot's stops by
// what was bought.
type sighting struct {
	states mass
	after  [][]After
}

// sight looks at the states that the plan goes through.
func (p *Plan) sight() sighting {
	g := p.grid
	s := sighting{states: make(mass, (g.bays+1)*g.size+1), after: make([][]After, len(p.lots))}
	top := min(p.bays, g.bays)
	g.forward(p.bays, p.cash, func(i int) []float64 { return g.lots[i].chance }, func(i int, m mass) {
		for a, x := range m {
			s.states[a] += x
		}
		top = min(top+g.growth[i].bays, g.bays)
		for k := top; k >= 0; k-- {
			chance, cash := 0.0, 0.0
			for c, x := range m[k*g.size : (k+1)*g.size] {
				chance += x
				cash += x * float64(c)
			}
			if chance < 1e-6 {
				continue
			}
			cash *= g.delta / chance
			s.after[i] = append(s.after[i], After{top - k, chance, cash, g.lots[i].price(p.steps(p.table, i, k, cash))})
		}
	})
	return s
}

// sheet returns the stops at so many levels of money. METHOD.md 19.22.
func (p *Plan) sheet(s sighting, count int) Sheet {
	g := p.grid
	out := Sheet{Levels: p.levels(count)}
	count = len(out.Levels)
	chance := make([][]float64, count)
	for a := range chance {
		chance[a] = make([]float64, g.bays+1)
	}
	for c := range g.size {
		a := nearest(out.Levels, float64(c)*g.delta)
		for k := 1; k <= g.bays; k++ {
			chance[a][k] += s.states[k*g.size+c]
		}
	}
	out.Bays = make([]int, count)
	next := min(p.mostBays, g.bays)
	for a := count - 1; a >= 0; a-- {
		sum, best := 0.0, 0
		for k := 1; k <= g.bays; k++ {
			if sum += chance[a][k]; best == 0 || chance[a][k] > chance[a][best] {
				best = k
			}
		}
		if sum > 1e-9 {
			next = best
		}
		out.Bays[a] = next
	}
	for i, d := range g.lots {
		row := make([]float64, count)
		for a, cash := range out.Levels {
			row[a] = d.price(p.steps(p.leaf, i, out.Bays[a], cash))
		}
		out.Stops = append(out.Stops, row)
	}
	return out
}

// nearest returns the level nearest to an amount, the lower of two.
func nearest(levels []float64, x float64) int {
	a := 0
	for a+1 < len(levels) && (levels[a]+levels[a+1])/2 < x {
		a++
	}
	return a
}

// byBays returns the stops at so many levels of money, by every number of free
// bays.
func (p *Plan) byBays(count int) Table {
	out := Table{Levels: p.levels(count), step: p.settings.BidStep, tied: p.ladders, anyway: p.anyCash}
	out.Stops = make([][][]float64, len(p.lots))
	rows := max(0, p.mostBays)
	parallel(len(p.lots), p.settings.Workers, func(i int) {
		d := p.grid.lots[i]
		for k := 1; k <= rows; k++ {
			if k > p.grid.bays && k > 1 { // more than can be used
				out.Stops[i] = append(out.Stops[i], out.Stops[i][k-2])
				continue
			}
			row := make([]float64, len(out.Levels))
			for a, cash := range out.Levels {
				row[a] = d.price(p.steps(p.leaf, i, k, cash))
			}
			out.Stops[i] = append(out.Stops[i], row)
		}
	})
	return out
}

// Stop reads the table: linear between levels, from 0 without money, rounded down to
// a bid step, and never beyond what the money covers. lot counts the lots to come from 0.
func (t *Table) Stop(lot, bays int, cash float64) float64 {
	rows := t.Stops[lot]
	if bays < 1 || len(rows) == 0 || !t.anyway && t.Levels[0] <= 0 {
		return 0
	}
	row := rows[min(bays, len(rows))-1]
	if t.anyway {
		return row[0]
	}
	n := len(row)
	x := cash / t.Levels[0] // levels are even
	a := int(math.Floor(x))
	stop := row[n-1]
	switch {
	case x < 0:
		return 0
	case a == 0:
		stop = x * row[0]
	case a < n:
		stop = row[a-1] + (x-float64(a))*(row[a]-row[a-1])
	}
	d := t.tied[lot]
	return d.price(d.covered(int(stop/t.step+1e-9), cash))
}
