package shop

import (
	"errors"
	"fmt"
	"strings"
	"wreckoner/damage"
	"wreckoner/damage/costs"

	"wreckoner/evaluate/stats"

	"wreckoner/evaluate/tabular"
)

// The cost table and the rules of hidden damage, as costs.csv and hidden.csv have them.

type bookRow struct {
	Zone      tabular.Cell `csv:"zone"`
	Class     tabular.Cell `csv:"class"`
	Grade     tabular.Cell `csv:"grade"`
	SpendLow  tabular.Cell `csv:"spend_low"`
	SpendMid  tabular.Cell `csv:"spend_mid"`
	SpendHigh tabular.Cell `csv:"spend_high"`
	HoursLow  tabular.Cell `csv:"hours_low"`
	HoursMid  tabular.Cell `csv:"hours_mid"`
	HoursHigh tabular.Cell `csv:"hours_high"`
	LeadDays  tabular.Cell `csv:"lead_days"`
	Builds    tabular.Cell `csv:"builds"`
	Basis     tabular.Cell `csv:"basis"`
	Shape     tabular.Cell `csv:"shape,omitempty"`
	Parts     tabular.Cell `csv:"parts,omitempty"`
	Priced    tabular.Cell `csv:"priced,omitempty"`
}

func (r *shopReader) book() error {
	rows, err := r.rows()
	if err != nil {
		return err
	}
	rules, err := r.rules()
	if err != nil {
		return err
	}
	b, err := costs.New(rows, rules)
	if err != nil {
		r.problems = append(r.problems, tabular.Problem{File: r.shown(CostsFile), Message: err.Error()})
		return nil
	}
	r.shop.Costs = b
	r.gaps()
	return nil
}

// gaps says what no row of the book prices.
func (r *shopReader) gaps() {
	var missing []string
	for _, z := range damage.Zones() {
		for _, c := range damage.Classes() {
			for g := damage.Grade(1); g.Valid(); g++ {
				item := damage.Item{Spot: damage.Spot{Zone: z, Class: c}, Grade: g}
				if _, ok := r.shop.Costs.RowOf(item); !ok {
					missing = append(missing, item.String())
				}
			}
		}
	}
	if len(missing) > 0 {
		r.notices = append(r.notices,
			fmt.Sprintf("%s: no row for %d of %d kinds of damage, such as %s; lots that may have it are rejected: add rows "+
				"with zone * to cover the rest",
				r.shown(CostsFile), len(missing), damage.ItemCount, missing[0]))
	}
}

func (r *shopReader) rows() ([]costs.Row, error) {
	var rows []costs.Row
	lines := map[string]int{}
	shown := r.shown(CostsFile)
	err := each(r, CostsFile, func(v *bookRow, k *tabular.Check) {
		row := costs.Row{}
		row.Item, row.Any = item(v.Zone, v.Class, v.Grade, "", "*", k.Bad)
		shape, err := stats.ParseShape(strings.ToLower(v.Shape.Text()))
		k.Bad("shape", err)
		row.Spend = Three(v.SpendLow, v.SpendMid, v.SpendHigh, shape, [3]string{"spend_low", "spend_mid", "spend_high"}, k)
		row.Hours = Three(v.HoursLow, v.HoursMid, v.HoursHigh, shape, [3]string{"hours_low", "hours_mid", "hours_high"}, k)
		row.LeadDays = k.Number("lead_days", v.LeadDays, 0, 3650)
		if v.Parts.Given() {
			row.Common = 1 - k.Share("parts", v.Parts)
		}
		if row.Builds, err = v.Builds.Number(0, 1e6); err == nil && row.Builds == 0 {
			err = errors.New("0 builds carry no weight; write how many builds the row is worth, such as 4")
		}
		k.Bad("builds", err)
		row.Basis = k.Name("basis", v.Basis, "say in words where the figures come from")
		if v.Priced.Given() {
			row.Priced, err = v.Priced.Date()
			k.Bad("priced", err)
		}
		if k.Failed {
			return
		}
		if first, dup := lines[row.Name()]; dup {
			k.Bad("zone", fmt.Errorf("%s already has a row, on line %d; keep one", row.Name(), first))
			return
		}
		lines[row.Name()] = k.Line
		for _, a := range []struct {
			what string
			stats.Amount
		}{{"spend", row.Spend}, {"hours", row.Hours}} {
			if ratio := a.TailRatio(); ratio > stats.WarnRatio {
				r.notices = append(r.notices,
					fmt.Sprintf("%s:%d: %s of %s: one side is %.1f times the other, more than most people mean; check low, mid "+
						"and high", shown, k.Line, a.what, row.Name(), ratio))
			}
		}
		rows = append(rows, row)
	})
	return rows, err
}

// item reads zone, class and grade from three cells, of columns whose names begin with a prefix. star is the word for
// any zone.
func item(zone, class, grade tabular.Cell, prefix, star string,
	bad func(string, error) bool) (i damage.Item, any bool) {
	var err error
	if strings.EqualFold(zone.Text(), star) {
		any = true
	} else if i.Zone, err = damage.ParseZone(zone.Text()); err != nil {
		bad(prefix+"zone", fmt.Errorf("%w, or %s", err, star))
	}
	i.Class, err = damage.ParseClass(class.Text())
	bad(prefix+"class", err)
	n, err := grade.Int(1, damage.GradeCount)
	bad(prefix+"grade", err)
	i.Grade = damage.Grade(n)
	return i, any
}

type ruleRow struct {
	WhenZone  tabular.Cell `csv:"when_zone"`
	WhenClass tabular.Cell `csv:"when_class"`
	WhenGrade tabular.Cell `csv:"when_grade"`
	ThenZone  tabular.Cell `csv:"then_zone"`
	ThenClass tabular.Cell `csv:"then_class"`
	ThenGrade tabular.Cell `csv:"then_grade"`
	Chance    tabular.Cell `csv:"chance"`
	Seen      tabular.Cell `csv:"seen"`
	Segment   tabular.Cell `csv:"segment,omitempty"`
	Why       tabular.Cell `csv:"why,omitempty"`
}

func (r *shopReader) rules() ([]costs.Rule, error) {
	var rules []costs.Rule
	lines := map[string]int{}
	err := each(r, HiddenFile, func(v *ruleRow, k *tabular.Check) {
		rule := costs.Rule{Why: v.Why.Text()}
		rule.When, rule.AnyZone = item(v.WhenZone, v.WhenClass, v.WhenGrade, "when_", "*", k.Bad)
		rule.Then, rule.Same = item(v.ThenZone, v.ThenClass, v.ThenGrade, "then_", "same", k.Bad)
		rule.Segment = r.onlySegment(k, v.Segment)
		rule.Chance = k.Chance("chance", v.Chance, "adds nothing; remove the row")
		rule.Seen = k.Number("seen", v.Seen, 0, 1e6)
		if k.Failed {
			return
		}
		if first, dup := lines[rule.Name()]; dup {
			k.Bad("when_zone", fmt.Errorf("%s is already on line %d; keep one", rule.Name(), first))
			return
		}
		lines[rule.Name()] = k.Line
		rules = append(rules, rule)
	})
	return rules, err
}
