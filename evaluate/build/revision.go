package build

import (
	"strconv"
	"time"

	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/table"
)

// Revision returns what the lesson changes in the files of the shop folder, cell by
// cell. before are the builds that the folder was learned from already.
func (l *Lesson) Revision(before []table.Learned, outcomes []*Outcome) table.Revision {
	r := table.Revision{Costs: map[string]table.Edit{}, Hidden: map[string]table.Edit{}, Learned: before}
	for _, row := range l.Rows {
		if !row.Changed {
			continue
		}
		edit := table.Edit{"builds": number(row.New.Builds), "basis": row.New.Basis}
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
		r.Hidden[rule.Old.Name()] = table.Edit{"chance": number(rule.New.Chance), "seen": number(rule.New.Seen)}
	}
	for _, o := range outcomes {
		sold := ""
		if !o.Build.Sold.IsZero() {
			sold = o.Build.Sold.Format(time.DateOnly)
		}
		r.Learned = append(r.Learned, table.Learned{Build: o.Build.Name, Digest: o.Frozen.Digest, Sold: sold})
	}
	return r
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
