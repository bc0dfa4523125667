package page

import (
	"crypto/sha256"
	_ "embed"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"
	"strings"
	"sync"

	"wreckoner/evaluate/plan"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
)

//go:embed plan.css
var planStyle string

//go:embed plan.js
var planScript string

var planPolicy = sync.OnceValue(func() string { return policyOf(style+planStyle, planScript) })

// planFrame is the frame of a plan's page, which has a style and a script of its own.
type planFrame struct{ frame }

// Policy, Style and Script are for the template.
func (planFrame) Policy() string      { return planPolicy() }
func (planFrame) Style() template.CSS { return template.CSS(style + planStyle) }
func (planFrame) Script() template.JS { return template.JS(planScript) }

// Plan writes the page of a planned sale: to be tapped through on a phone while the sale runs,
// and the sheet to print. lists names the lists.
func Plan(w io.Writer, p *report.Plan, lists string) error {
	v := &planView{
		Plan:     p,
		Words:    p.Expect(),
		Together: p.Groups(),
		Asides:   p.Asides(),
		Bid:      p.Result.Facts.NoBid.Reason == plan.SomethingToBid,
	}
	v.planFrame = planFrame{frame{
		Kind: "Plan", Title: either(lists, "a lot list"), Lead: p.Title() + ".",
		Made: fmt.Sprintf("Shop: %s. %s.", report.ShopWords(p.Shop, p.Folder), report.Drawn(p.Points, p.Seed)),
	}}
	v.sheet()
	var err error
	if v.Data, err = planData(p, lists); err != nil {
		return err
	}
	return write(w, "plan", v)
}

// planView is what the template shows.
type planView struct {
	planFrame
	Plan     *report.Plan
	Words    []string
	Together []string
	Asides   []string
	Bid      bool
	Levels   []string
	Rows     []paperRow
	Data     *saleData
}

// Won, SheetWords, Money and Bays are for the template.
func (v *planView) Won() []report.Bought { return v.Plan.Won() }

// SheetWords say how the paper is read.
func (v *planView) SheetWords() string { return report.SheetWords }

// Money is what there is to tie up now, "" where it is not limited.
func (v *planView) Money() string {
	if v.Plan.Result.Cash == plan.NoLimit {
		return ""
	}
	return v.Plan.Sum(v.Plan.Result.Cash)
}

// Bays are those free now, "" where they are not limited.
func (v *planView) Bays() string {
	if v.Plan.Resources.Bays == plan.NoLimit {
		return ""
	}
	return fmt.Sprint(v.Plan.Result.Standing.Bays)
}

// paperRow is a lot on paper.
type paperRow struct {
	Name, Closes, Car, Stop, Needs string
	// Group says how the lot closes: alone "", with others "group", as the first of them
	// that is shown "group first".
	Group  string
	Levels []string
}

// sheet lays out the paper: 8 levels, the most money first.
func (v *planView) sheet() {
	p, s := v.Plan, &v.Plan.Result.Sheet8
	if p.Result.Cash != plan.NoLimit {
		for a := len(s.Levels) - 1; a >= 0; a-- {
			v.Levels = append(v.Levels, plain(math.Round(s.Levels[a]/100)*100))
		}
	}
	last := -1
	for _, i := range p.Shown() {
		l := &p.Result.Lots[i]
		row := paperRow{Name: p.Name(l.Lot), Closes: p.Closes(l.Lot), Car: p.Car(l.Lot), Stop: p.Stop(l.Stop)}
		if l.Group >= 0 {
			if row.Group = "group"; l.Group != last {
				row.Group = "group first"
			}
		}
		last = l.Group
		if l.Stop > 0 {
			row.Needs = "needs " + p.Sum(l.Needs)
		}
		if p.Result.Cash != plan.NoLimit {
			for a := len(s.Levels) - 1; a >= 0; a-- {
				row.Levels = append(row.Levels, plain(s.Stops[i][a]))
			}
		}
		v.Rows = append(v.Rows, row)
	}
}

// plain writes an amount without the currency's sign, "-" for none.
func plain(x float64) string {
	if x <= 0 {
		return "-"
	}
	return draw.Money("").Value(math.Round(x))
}

// saleData is what the script works from. Money is in pence, stops are in bid steps.
type saleData struct {
	ID     string    `json:"id"`
	Sign   string    `json:"sign"`
	Step   float64   `json:"step"`
	Cash   int64     `json:"cash"` // -1: not limited
	Bays   int       `json:"bays"`
	Any    bool      `json:"any"` // bays are not limited
	Levels []float64 `json:"levels"`
	Lots   []lotData `json:"lots"`
}

// lotData is a lot to come.
type lotData struct {
	Name    string  `json:"n"`
	Car     string  `json:"c"`
	Closes  string  `json:"t,omitempty"`
	Limit   int     `json:"l"` // own limit, in steps
	Never   bool    `json:"x,omitempty"`
	First   int     `json:"g"`           // of its group, the first lot's place; its own where it is in none
	Bays    int     `json:"b,omitempty"` // more that come before it
	Cash    int64   `json:"m,omitempty"`
	Stops   [][]int `json:"s"` // by free bays from 1, by level
	Tied    []int64 `json:"k"` // step, pence, step, pence ...: linear between, to the penny
	PayBy   string  `json:"p"`
	Collect string  `json:"d"`
	Freeze  string  `json:"f,omitempty"` // with HAMMER for the price
}

// freezeMark stands for the hammer price in a freeze line.
const freezeMark = 987654

func planData(p *report.Plan, lists string) (*saleData, error) {
	r := &p.Result
	d := &saleData{
		Sign: draw.Money(p.Shop.Currency).
			Value(0),
		Step:   p.Settings.BidStep,
		Cash:   -1,
		Bays:   r.Bays,
		Any:    p.Resources.Bays == plan.NoLimit,
		Levels: r.Table.Levels,
		Lots:   []lotData{},
	}
	d.Sign = d.Sign[:len(d.Sign)-1]
	if r.Cash != plan.NoLimit {
		d.Cash = int64(math.Round(100 * r.Cash))
	}
	if !d.Any {
		d.Bays = r.Standing.Bays
	}
	for i := range r.Lots {
		d.Lots = append(d.Lots, lotOf(p, i))
	}
	text, err := json.Marshal(d)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(append(text, lists...))
	d.ID = hex.EncodeToString(sum[:8])
	return d, nil
}

func lotOf(p *report.Plan, i int) lotData {
	r, l := &p.Result, &p.Result.Lots[i]
	e := &p.Sale.Entries[l.Lot]
	lot := e.Result.Lot
	x := lotData{
		Name: p.Name(
			l.Lot,
		),
		Car:     p.Car(l.Lot),
		Closes:  p.Closes(l.Lot),
		Limit:   int(math.Round(e.Plan.Limit / p.Settings.BidStep)),
		Never:   l.Never,
		First:   i,
		Tied:    knots(e.Plan.Tied),
		PayBy:   report.Clean(lot.PayBy),
		Collect: report.Clean(lot.CollectBy),
		Stops:   [][]int{},
	}
	if l.Group >= 0 {
		x.First = r.Groups[l.Group].Lots[0] - r.Standing.First
	}
	x.Bays, x.Cash = p.Coming(i)
	for _, row := range r.Table.Stops[i] {
		steps := make([]int, len(row))
		for a, stop := range row {
			steps[a] = int(math.Round(stop / p.Settings.BidStep))
		}
		x.Stops = append(x.Stops, steps)
	}
	if p.Freeze != nil {
		x.Freeze = strings.Replace(p.Freeze(e.Plan.Name, lot, freezeMark), "--hammer "+strconv.Itoa(freezeMark),
			"--hammer HAMMER", 1)
	}
	return x
}

// knots lists steps, from 1, and the money tied up there in pence, as few as give all of it
// back to the penny, linear between.
func knots(tied []float64) []int64 {
	if len(tied) == 0 {
		return []int64{}
	}
	pence := make([]int64, len(tied))
	for j, x := range tied {
		pence[j] = int64(math.Round(100 * x))
	}
	out := []int64{1, pence[0]}
	for from := 0; from < len(pence)-1; {
		to := from + 1
		for next := to + 1; next < len(pence) && linear(pence, from, next); next++ {
			to = next
		}
		out = append(out, int64(to+1), pence[to])
		from = to
	}
	return out
}

// linear reports whether all between two places is given back by a straight line, as the
// script draws it.
func linear(pence []int64, from, to int) bool {
	a, b := float64(pence[from]), float64(pence[to])
	for j := from + 1; j < to; j++ {
		at := a + (b-a)*float64(j-from)/float64(to-from)
		if int64(math.Floor(at+0.5)) != pence[j] {
			return false
		}
	}
	return true
}

// Columns is how many columns the paper has.
func (v *planView) Columns() int { return len(v.Levels) + 6 }
