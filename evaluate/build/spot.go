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
		if err == nil && e.Grade > 0 && e.Grade != damage.Grade(n) {
			err = fmt.Errorf("%d is not the grade that %q says; write the one that is right", n, v.Class.Text())
		}
		if !bad("grade", err) {
			e.Grade = damage.Grade(n)
		}
	}
}

// zoneBeside reads words for a zone. Those that say a side alone, such as n/s, may be told apart by the job: n/s and
// door mirror.
func zoneBeside(words string, e *Entry) (damage.Zone, error) {
	z, err := zoneOf(words)
	var half *lots.HalfSaidError
	if errors.As(err, &half) {
		if p, ok := partOf(words, e.What); ok && p.Sure() {
			e.ByWords = true
			return p.Zone, nil
		}
	}
	return z, err
}

// classOf reads a class by its letter, its name or people's words for it, and a grade behind its letter: c2.
func classOf(text string) (damage.Class, damage.Grade, error) {
	class, err := damage.ParseClass(text)
	if err == nil {
		return class, 0, nil
	}
	key := wordKey(text)
	if letter := ledgerWords["class"][key]; letter != "" {
		class, err = damage.ParseClass(letter)
		return class, 0, err
	}
	if letter, digit := strings.TrimSpace(key[:len(key)-1]), key[len(key)-1]; len(letter) == 1 &&
		digit >= '1' && digit <= '0'+damage.GradeCount {
		if c, err := damage.ParseClass(letter); err == nil {
			return c, damage.Grade(digit - '0'), nil
		}
	}
	return 0, 0, err
}

// spot reads zone and class. Where the row has no class, the job's words may say it.
func (r *ledgerReader) spot(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	var err error
	if !v.Zone.Given() {
		bad("zone", errors.New("is blank beside a class or a grade; write the zone, or leave all three blank for overhead"))
	} else if e.Spot.Zone, err = zoneBeside(v.Zone.Text(), e); err != nil {
		bad("zone", err)
	}
	if v.Class.Given() {
		e.Spot.Class, e.Grade, err = classOf(v.Class.Text())
		bad("class", err)
		return
	}
	if err != nil || !v.Zone.Given() || e.What == "" {
		bad("class", errNoClass)
		return
	}
	bad(r.classByWords(e, v.Zone.Text()))
}

var errNoClass = errors.New("is blank beside a zone or a grade; write s, c, r, m or e, or leave all three blank for " +
	"overhead")

// classByWords reads the class of a row whose zone is said by the words of its job. It returns the column that is at
// fault.
func (r *ledgerReader) classByWords(e *Entry, zone string) (column string, err error) {
	p, ok := partOf(zone, e.What)
	if ok = ok && p.Sure(); !ok {
		if p, ok = partOf("", e.What); ok && p.ClassDoubt != "" {
			return "class", fmt.Errorf("is blank, and of %q %s; write s, c, r, m or e", e.What, p.ClassDoubt)
		}
		if ok && !p.ZoneSure {
			p.Zone = e.Spot.Zone
		}
	}
	switch {
	case !ok:
		return "class", errNoClass
	case p.Zone != e.Spot.Zone:
		return "zone", fmt.Errorf("%q is the %s, and %q says the %s; write the one that is right", zone, e.Spot.Zone, e.What,
			p.Zone)
	}
	e.Spot.Class, e.ByWords = p.Class, true
	return "", nil
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
