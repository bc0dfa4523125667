package build

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
)

// own reports whether the kind is one of the car's own amounts or dates.
func (k EntryKind) own() bool { return k >= HammerEntry }

func zoneOf(words string) (damage.Zone, error) {
	if z, err := damage.ParseZone(words); err == nil {
		return z, nil
	}
	return lots.ZoneOf(words)
}

// place reads where the money went, and so what kind of row it is.
func (r *ledgerReader) place(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	word := slices.Index(entryWords, strings.ToLower(e.What))
	if !v.Zone.Given() && !v.Class.Given() && !v.Grade.Given() {
		if e.Kind = OverheadEntry; word >= 0 {
			e.Kind = HammerEntry + EntryKind(word)
			return
		}
		r.unplaced(e, bad)
		return
	}
	if word >= 0 {
		bad("what", fmt.Errorf("%q is not in any zone; leave zone, class and grade blank", e.What))
	}
	r.spot(e, v, bad)
	if v.Grade.Given() {
		n, err := v.Grade.Int(1, damage.GradeCount)
		if !bad("grade", err) {
			e.Grade = damage.Grade(n)
		}
	}
}

// spot reads zone and class. Where the row has no class, the job's words may say it.
func (r *ledgerReader) spot(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	var err error
	if !v.Zone.Given() {
		bad("zone", errors.New("is blank beside a class or a grade; write the zone, or leave all three blank for overhead"))
	} else if e.Spot.Zone, err = zoneOf(v.Zone.Text()); err != nil {
		bad("zone", err)
	}
	if v.Class.Given() {
		e.Spot.Class, err = damage.ParseClass(v.Class.Text())
		bad("class", err)
		return
	}
	if p, ok := partOf(v.Zone.Text(), e.What); ok && err == nil && v.Zone.Given() && p.Sure() {
		if p.Zone != e.Spot.Zone {
			bad("zone", fmt.Errorf("%q is the %s, and %q says the %s; write the one that is right", v.Zone.Text(), e.Spot.Zone,
				e.What, p.Zone))
			return
		}
		e.Spot.Class, e.ByWords = p.Class, true
		return
	}
	bad("class", errors.New("is blank beside a zone or a grade; write s, c, r, m or e, or leave all three blank for "+
		"overhead"))
}

// unplaced reads a row with neither zone nor class by the words of its job.
func (r *ledgerReader) unplaced(e *Entry, bad func(string, error) bool) {
	if e.What == "" {
		bad("what", errors.New("is blank; where no zone is named, write what the money was for"))
		return
	}
	named := func(name string) bool { return tabular.Canonical(name) == tabular.Canonical(e.What) }
	if slices.ContainsFunc(r.how.Fixed, named) {
		return
	}
	if meant := ledgerWords["near"][wordKey(e.What)]; meant != "" {
		bad("what", nearWord(e.What, meant))
		return
	}
	if rest, ok := strings.CutPrefix(strings.ToLower(e.What), "overhead:"); ok && strings.TrimSpace(rest) != "" {
		e.What = strings.TrimSpace(e.What[len("overhead:"):])
		return
	}
	p, ok := partOf("", e.What)
	switch {
	case !ok:
		r.slip(e, bad)
	case p.Sure() && r.strict:
		r.notice(e.Line, "%q counts as overhead; if it was work on the car, write its zone and class: %s, %s", e.What,
			p.Zone, p.Class.Letter())
	case p.Sure():
		e.Kind, e.Spot, e.ByWords = ZoneEntry, damage.Spot{Zone: p.Zone, Class: p.Class}, true
	case !r.strict:
		bad("what", fmt.Errorf("%q: %s; write the zone and the class, or overhead: %s if it is not in any zone", e.What,
			p.Doubt, e.What))
	}
}

// nearWord asks about a word that is close to one of the car's own amounts or to a fixed item.
func nearWord(what, meant string) error {
	charged := "the " + meant + " that was expected is still charged"
	switch meant {
	case "hammer":
		charged = "the hammer price in the estimate still counts"
	case "sale":
		charged = "the car still counts as unsold"
	case "fees", "transport", "selling":
		charged = "the " + meant + " as expected are still charged"
		if meant == "transport" {
			charged = "the expected transport is still charged"
		}
	}
	return fmt.Errorf("%q is not counted: write %s if that is what it was, or overhead: %s if it comes on top; until "+
		"then %s", what, meant, what, charged)
}

// slip asks about a short word that may be meant for one of the car's own amounts.
func (r *ledgerReader) slip(e *Entry, bad func(string, error) bool) {
	words := strings.Fields(e.What)
	if len(words) > 2 {
		return
	}
	for _, word := range words {
		if near := tabular.Nearest(word, entryWords); near != "" {
			bad("what", nearWord(e.What, near))
			return
		}
	}
}
