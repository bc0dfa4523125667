package build

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate/learn"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// Revision returns what the lesson changes in the files of the shop folder, cell by
// cell. before are the builds that the folder was learned from already.
func (l *Lesson) Revision(before []shop.Learned, outcomes []*Outcome) shop.Revision {
	r := shop.Revision{Costs: map[string]shop.Edit{}, Hidden: map[string]shop.Edit{}, Learned: before,
		Settings: l.settings()}
	after := l.After.Costs
	for i, old := range l.Before.Costs.Rows() {
		row := after.Rows()[i]
		if row == old {
			continue
		}
		edit := shop.Edit{"builds": money.Plain(row.Builds), "basis": row.Basis}
		three := func(name string, old, now stats.Amount) {
			if old != now {
				edit[name+"_low"], edit[name+"_mid"] = money.Plain(now.Low), money.Plain(now.Mid)
				edit[name+"_high"] = money.Plain(now.High)
			}
		}
		three("spend", old.Spend, row.Spend)
		three("hours", old.Hours, row.Hours)
		r.Costs[old.Name()] = edit
	}
	for i, old := range l.Before.Costs.Rules() {
		if rule := after.Rules()[i]; rule != old {
			r.Hidden[old.Name()] = shop.Edit{"chance": money.Plain(rule.Chance), "seen": money.Plain(rule.Seen)}
		}
	}
	for _, o := range outcomes {
		if !slices.Contains(l.Builds, o.Build.Name) {
			continue
		}
		sold := ""
		if !o.Build.Sold.IsZero() {
			sold = o.Build.Sold.Format(time.DateOnly)
		}
		r.Learned = append(r.Learned, shop.Learned{Build: o.Build.Name, Digest: o.Frozen.Digest, Sold: sold})
	}
	return r
}

// settings returns the keys of shop.toml that change, each with how many builds it rests on.
func (l *Lesson) settings() (out []shop.SettingEdit) {
	old, now := &l.Before.Settings, &l.After.Settings
	add := func(key string, changed bool, builds int, value ...float64) {
		if changed {
			out = append(out, shop.SettingEdit{Key: key, Values: value, Note: "learned from " + counted(builds)})
		}
	}
	add("coding_up", now.CodingUp != old.CodingUp, l.Up.Builds, now.CodingUp[:]...)
	add("coding_down", now.CodingDown != old.CodingDown, l.Down.Builds, now.CodingDown[:]...)
	add("severity_link", now.SeverityLink != old.SeverityLink, l.Rho.Builds, now.SeverityLink)
	add("inflation", now.Inflation != old.Inflation, l.Drift.Builds, now.Inflation)
	return out
}

func counted(builds int) string { return tabular.Count(builds, "build") }

// What a row's basis ends with: the row's own builds, or those from which all rows moved.
const (
	learnedMark = "; learned from "
	movedMark   = "; moved with the other rows, "
)

// basis adds to a row's basis from how many builds it was learned: its own in all, or where it has none those that
// moved the rows together.
func basis(old string, own, all int) string {
	before, moved := cut(old, movedMark)
	before, count := cut(before, learnedMark)
	if own == 0 && count == 0 {
		return before + movedMark + counted(moved+all)
	}
	return before + learnedMark + counted(count+own)
}

// cut takes a mark and its number off the end of a basis.
func cut(text, mark string) (before string, n int) {
	i := strings.LastIndex(text, mark)
	if i < 0 {
		return text, 0
	}
	if _, err := fmt.Sscanf(text[i+len(mark):], "%d", &n); err != nil {
		return text, 0
	}
	return text[:i], n
}

// Aside says in words what of one build was not learned from, and why.
func AsideWords(a learn.Aside) string {
	what := a.Build
	if !a.Whole {
		if what += ", "; a.Grade > 0 {
			what += damage.Item{Spot: a.Spot, Grade: a.Grade}.String()
		} else {
			what += a.Spot.String()
		}
	}
	text := what + ": " + a.Reason.String()
	if a.Note != "" {
		text += " (" + a.Note + ")"
	}
	return text
}
