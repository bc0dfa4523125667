package build

import (
	"strconv"
	"time"

	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
)

// Revision returns what the lesson changes in the files of the shop folder, cell by
// cell. before are the builds that the folder was learned from already.
func (l *Lesson) Revision(before []shop.Learned, outcomes []*Outcome) shop.Revision {
	r := shop.Revision{Costs: map[string]shop.Edit{}, Hidden: map[string]shop.Edit{}, Learned: before}
	for _, row := range l.Rows {
		if !row.Changed {
			continue
		}
		edit := shop.Edit{"builds": number(row.New.Builds), "basis": row.New.Basis}
		if row.New.Spend.Shape != row.Old.Spend.Shape {
			edit["shape"] = row.New.Spend.Shape.String()
		}
		three := func(name string, old, now stats.Amount) {
			if old != now {
				edit[name+"_low"], edit[name+"_mid"], edit[name+"_high"] = number(now.Low), number(now.Mid), number(now.High)
			}
		}
		three("spend", row.Old.Spend, row.New.Spend)
		three("hours", row.Old.Hours, row.New.Hours)
		r.Costs[row.Old.Name()] = edit
	}
	for _, rule := range l.Rules {
		r.Hidden[rule.Old.Name()] = shop.Edit{"chance": number(rule.New.Chance), "seen": number(rule.New.Seen)}
	}
	for _, o := range outcomes {
		sold := ""
		if !o.Build.Sold.IsZero() {
			sold = o.Build.Sold.Format(time.DateOnly)
		}
		r.Learned = append(r.Learned, shop.Learned{Build: o.Build.Name, Digest: o.Frozen.Digest, Sold: sold})
	}
	return r
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
