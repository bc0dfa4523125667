// Command floorsample writes samples/floor: the frozen estimates and the ledger of an
// invented workshop, eighteen sold cars and four open ones. All of it is drawn by one seed:
// the cars, what is wrong with them, what their jobs turned out to cost, the days.
//
//	go run ./testdata/floorsample samples/floor
package main

import (
	"encoding/csv"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
)

const (
	seed = 2031
	sold = 18
	// truths is how many ways each car could turn out, of which one is drawn.
	truths = 256
)

// today is the day on which the floor is looked at.
var today = time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)

type car struct {
	make, model, segment string
	value                int // before the damage, pounds
}

var cars = []car{
	{"Velmary", "Vantry", "family", 11200}, {"Brantholt", "Aldra", "family", 9400}, {"Pelcombe", "Harkle", "family",
		10300},
	{"Velmary", "Tiffet", "city", 6900}, {"Brantholt", "Pinnel", "city", 6200}, {"Pelcombe", "Dabbit", "city", 7100},
	{"Brantholt", "Carrik", "van", 11800}, {"Velmary", "Loadwell", "van", 13200},
	{"Ostrane", "Provant", "executive", 14800}, {"Ostrane", "Merivant", "executive", 15600},
}

// opened are the four open cars, each with its damage.
var opened = []struct {
	car
	code string
	ago  int
	how  stage
}{
	{car{"Pelcombe", "Dabbit", "city", 7100}, "nose c3 m1?40", 74, advertised},
	{car{"Velmary", "Vantry", "family", 11200}, "nose s2 c3 m1; cabin r2-", 34, halfDone},
	{car{"Brantholt", "Carrik", "van", 11800}, "side-near c3; rear-near c2", 26, awaiting},
	{car{"Velmary", "Tiffet", "city", 6900}, "rear-near c2; tail c1", 2, bought},
}

var codes = []string{
	"nose s1 c3 m1?60", "nose s2 c3 m1; cabin r2-", "nose c3 m1?40", "rear-near c2; tail c1", "tail s1? c3 e1; cabin r2-",
	"side-near c3; cabin r2-", "front-off s2? c3 m2", "front-near c2 m1?", "rear-off c3; tail s1?20", "nose s2? c2",
}

var suppliers = []string{"Hallin Breakers", "Moorgate Motor Factors", "Tarrant Panels", "Oxbow Paint Supplies"}

type sample struct {
	dir   string
	r     *rand.Rand
	shop  *shop.Shop
	e     *evaluate.Evaluator
	truth *evaluate.Evaluator
	rows  [][]string
	bills int
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "floorsample: name the folder to write")
		os.Exit(2)
	}
	if err := run(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "floorsample:", err)
		os.Exit(1)
	}
}

func run(dir string) error {
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		return fmt.Errorf("the starter: %w %v", err, problems)
	}
	workshop.Bays = 2
	s := &sample{dir: dir, r: rand.New(rand.NewPCG(seed, 1)), shop: workshop}
	if s.e, err = evaluate.New(workshop, evaluate.Options{Seed: 1, Points: 2048}); err != nil {
		return err
	}
	if s.truth, err = evaluate.New(workshop, evaluate.Options{Seed: seed, Points: truths}); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	s.rows = append(s.rows,
		strings.Split("build,date,zone,class,grade,what,spend,hours,state,note,due,invoice,supplier,part", ","))
	day := time.Date(2024, 12, 16, 0, 0, 0, 0, time.UTC)
	for i := range sold {
		c, code := cars[s.r.IntN(len(cars))], codes[s.r.IntN(len(codes))]
		if err := s.one(301+i, day.AddDate(0, 0, 19*i+s.r.IntN(9)), c, code, finished); err != nil {
			return err
		}
	}
	for i, x := range opened {
		if err := s.one(301+sold+i, today.AddDate(0, 0, -x.ago), x.car, x.code, x.how); err != nil {
			return err
		}
	}
	s.workshop()
	return s.ledger()
}

// stage is how far a car has come in the ledger.
type stage int

const (
	finished stage = iota
	advertised
	halfDone
	awaiting
	bought
)

// one freezes one car and writes its rows.
func (s *sample) one(number int, on time.Time, c car, marks string, how stage) error {
	code, err := damage.Parse(marks)
	if err != nil {
		return err
	}
	site, miles := "Marrow Fen", 38.0
	if s.r.IntN(3) == 0 {
		site, miles = "Tolloway", 94
	}
	category := "N"
	if strings.Contains(code.String(), " s") {
		category = "S"
	}
	l := &evaluate.Lot{
		Number: strconv.Itoa(number), Make: c.make, Model: c.model, Year: 2016 + s.r.IntN(7), Odometer: 20000 +
			1000*s.r.IntN(60), Segment: c.segment, Category: category,
		Code: code, Value: money.Pence(100 * (c.value/100*100 + 100*(s.r.IntN(15)-7))), Site: site, Miles: miles,
		Cells: map[string]string{"keys": "yes", "starts": "yes", "logbook": "yes"}, File: "samples/floor",
	}
	res, err := s.e.Evaluate(l)
	if err != nil {
		return err
	}
	stop := max(40000, res.HighestBid)
	hammer := money.Pence(float64(stop)*(0.82+0.2*s.r.Float64())) / 2500 * 2500
	name := fmt.Sprintf("%d %s", number, strings.ToLower(c.model))
	f, err := build.Freeze(s.e, l, hammer, name, "0.1.0")
	if err != nil {
		return err
	}
	w, err := os.Create(filepath.Join(s.dir, fmt.Sprintf("%d.json", number)))
	if err != nil {
		return err
	}
	if err := f.Write(w); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if how == bought {
		return nil
	}
	return s.built(name, l, hammer, on, how)
}

// row adds a row: what is not a figure of a job is blank.
func (s *sample) row(cells ...string) {
	s.rows = append(s.rows, append(cells, make([]string, 14-len(cells))...))
}

func pounds(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }

func date(t time.Time) string { return t.Format(time.DateOnly) }

// turned is how one place of a car turned out.
type turned struct {
	spot         damage.Spot
	grade        damage.Grade
	spend, hours float64
}

// turns draws how a car turns out, and what it sells for.
func (s *sample) turns(l *evaluate.Lot) (jobs []turned, sale float64, err error) {
	p, err := s.truth.Resolve(l)
	if err != nil {
		return nil, 0, err
	}
	var t simulate.Totals
	t.Sum(s.truth.Draws(), p.Case)
	at := s.r.IntN(truths)
	spend, hours := make([]float64, truths), make([]float64, truths)
	for _, spot := range t.Spots() {
		t.Spot(s.truth.Draws(), p.Case, spot, spend, hours)
		j := turned{spot: spot, spend: p.Segment.Spend * spend[at], hours: p.Segment.Hours * hours[at]}
		for i, c := range p.Case {
			worlds, certain := t.Occurs(i)
			here := certain
			for _, w := range worlds {
				here = here || int(w) == at
			}
			if here && c.Spot == spot {
				j.grade = c.Grade
			}
		}
		jobs = append(jobs, j)
	}
	worlds := s.truth.Worlds(p, &t, evaluate.Overrides{})
	return jobs, worlds.Resale[at], nil
}

// built writes the rows of a car that is here.
func (s *sample) built(name string, l *evaluate.Lot, hammer money.Pence, on time.Time, how stage) error {
	jobs, sale, err := s.turns(l)
	if err != nil {
		return err
	}
	s.paid(name, l, hammer, on)
	at := on.AddDate(0, 0, 9+s.r.IntN(8)) // parts are ordered and come
	waits := false
	for i, j := range jobs {
		switch {
		case j.grade == 0:
			s.work(name, on.AddDate(0, 0, 6), j, "", "", "0.5", "clear", "looked for, not there")
		case how == halfDone && i > 0: // begun: its parts came, and an hour or two is done
			day := today.AddDate(0, 0, -17-s.r.IntN(4))
			s.bills++
			s.work(name, day, j, "parts", pounds(0.8*j.spend), strconv.Itoa(1+s.r.IntN(2)), "open", "", "", s.bill(),
				suppliers[1])
		case how == awaiting && !waits && j.spot.Class == damage.Cosmetic:
			waits = true
			s.bills++
			s.work(name, today.AddDate(0, 0, -12), j, "panel and lamp, used", pounds(j.spend), "", "open",
				"rang Mrs Oddy, who has a second one",
				date(today.AddDate(0, 0, -3)), fmt.Sprintf("HB-%d", 4100+s.bills), suppliers[0], "panel and lamp")
		case how != awaiting:
			at = at.AddDate(0, 0, 3+s.r.IntN(4)+int(j.hours/4))
			if how != finished && at.After(today) {
				at = today.AddDate(0, 0, -1)
			}
			s.job(name, j, at)
		}
	}
	if how != finished && how != advertised {
		return nil
	}
	s.offered(name, at.AddDate(0, 0, 3), sale, how)
	return nil
}

// offered writes the rows of a car that is ready, and of its sale.
func (s *sample) offered(name string, at time.Time, sale float64, how stage) {
	s.row(name, date(at), "", "", "", "roadworthiness test", "54.85")
	s.row(name, date(at), "", "", "", "consumables", pounds(35+60*s.r.Float64()), "1.5")
	listed := at.AddDate(0, 0, 2)
	if how == advertised {
		listed = today.AddDate(0, 0, -9)
	}
	s.row(name, date(listed), "", "", "", "listed")
	if how == finished {
		gone := listed.AddDate(0, 0, int(s.shop.SellDays.Quantile(s.r.Float64())))
		s.row(name, date(gone), "", "", "", "sale", pounds(float64(int(0.95*sale/50)*50)), "", "",
			"to Mr Pemble of Lower Cross")
		s.row(name, date(gone), "", "", "", "selling", pounds(110+60*s.r.Float64()))
	}
}

// work writes a row of one place of a car: what, spend, hours, state and so on.
func (s *sample) work(name string, day time.Time, j turned, cells ...string) {
	s.row(append([]string{name, date(day), j.spot.Zone.String(), j.spot.Class.Letter(), grade(j)}, cells...)...)
}

func (s *sample) bill() string { return fmt.Sprintf("B-%d", 2000+s.bills) }

func grade(j turned) string {
	if j.grade == 0 {
		return ""
	}
	return strconv.Itoa(int(j.grade))
}

// paid writes what was paid to have the car here.
func (s *sample) paid(name string, l *evaluate.Lot, hammer money.Pence, on time.Time) {
	d := l.Deal(s.shop)
	fees, transport := 0.0, 0.0
	for _, x := range d.Outlay(hammer).Lines[1:] {
		if strings.EqualFold(x.Name, "transport") || strings.EqualFold(x.Name, "carriage") {
			transport += (x.Amount + x.VAT).Pounds()
		} else {
			fees += (x.Amount + x.VAT).Pounds()
		}
	}
	s.row(name, date(on), "", "", "", "bought")
	s.row(name, date(on), "", "", "", "hammer", pounds(hammer.Pounds()))
	s.row(name, date(on), "", "", "", "fees", pounds(fees))
	if transport == 0 {
		transport = 70
	}
	s.row(name, date(on.AddDate(0, 0, 2+s.r.IntN(3))), "", "", "", "transport", pounds(transport))
}

// job writes the rows of one finished job.
func (s *sample) job(name string, j turned, at time.Time) {
	what := map[damage.Class]string{
		damage.Structural: "welding, bench hire", damage.Cosmetic: "panels and paint", damage.Restraint: "belts and bags", damage.Mechanical: "parts", damage.Electrical: "plugs and loom",
	}[j.spot.Class]
	s.bills++
	hours := strconv.FormatFloat(float64(int(2*j.hours))/2, 'f', -1, 64)
	s.work(name, at, j, what, pounds(j.spend), hours, "done", "", "", s.bill(), suppliers[s.r.IntN(len(suppliers))])
}

// workshop writes the costs that no car carries.
func (s *sample) workshop() {
	for m := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC); m.Before(today); m = m.AddDate(0, 1, 0) {
		s.row("", date(m), "", "", "", "rent", "420.00")
		s.row("", date(m.AddDate(0, 0, 27)), "", "", "", "wages", "1600.00")
		if m.Month()%3 == 1 {
			s.row("", date(m.AddDate(0, 0, 14)), "", "", "", "electricity", pounds(160+90*s.r.Float64()))
		}
		if m.Month() == 4 {
			s.row("", date(m.AddDate(0, 0, 3)), "", "", "", "insurance", "1180.00")
		}
	}
}

// ledger writes the ledger.
func (s *sample) ledger() error {
	w, err := os.Create(filepath.Join(s.dir, "ledger.csv"))
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	if err := out.WriteAll(s.rows); err != nil {
		return err
	}
	return w.Close()
}
