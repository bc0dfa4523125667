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

// kindOf reads words that say outright what kind of row it is: one of the car's own amounts or dates, or overhead,
// alone or before a colon. rest is what stands behind the colon.
func kindOf(what string) (kind EntryKind, rest string, ok bool) {
	word, rest, colon := strings.Cut(what, ":")
	word, rest = wordKey(word), strings.TrimSpace(rest)
	if colon && rest == "" {
		return 0, "", false
	}
	if word == OverheadEntry.String() {
		return OverheadEntry, rest, true
	}
	if i := slices.Index(entryWords, word); i >= 0 {
		return HammerEntry + EntryKind(i), rest, true
	}
	return 0, "", false
}

// place reads where the money went, and so what kind of row it is.
func (r *ledgerReader) place(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	kind, rest, said := kindOf(e.What)
	if !v.Zone.Given() && !v.Class.Given() && !v.Grade.Given() {
		if e.Kind = OverheadEntry; said {
			r.said(e, v, kind, rest)
		} else {
			r.unplaced(e, v, bad)
		}
		return
	}
	e.Kind = ZoneEntry
	if said {
		bad("what", fmt.Errorf("%q is not in any zone; leave zone, class and grade blank", e.What))
	}
	r.spot(e, v, bad)
	if v.Grade.Given() {
		n, err := v.Grade.Int(1, damage.GradeCount)
		if err == nil && e.Grade > 0 && e.Grade != damage.Grade(n) {
			err = fmt.Errorf("%d is not the grade %d that stands beside the class; write the one that is right", n, e.Grade)
		}
		if !bad("grade", err) {
			e.Grade = damage.Grade(n)
		}
	}
}

// said books a row whose words say outright what kind it is; rest is what stands behind the colon.
func (r *ledgerReader) said(e *Entry, v *ledgerRow, kind EntryKind, rest string) {
	switch {
	case kind.own():
		e.Kind, e.What = kind, kind.String()
		if e.Note == "" {
			e.Note = rest
		}
		r.paidBySale(e, v)
	case rest != "":
		e.What = rest
	}
}

// paidBySale reads a row that says sold, beside an amount in the column for money received, as the sale.
func (r *ledgerReader) paidBySale(e *Entry, v *ledgerRow) {
	if e.Kind == SoldEntry && v.Received.Given() && !v.Spend.Given() {
		e.Kind, e.What = SaleEntry, SaleEntry.String()
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

// spot reads zone and class. Where the row has no class, the zone's cell or the job's words may say it.
func (r *ledgerReader) spot(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	zone := v.Zone.Text()
	var inCell *coded
	var err error
	if !v.Zone.Given() {
		err = errors.New("is blank beside a class or a grade; write the zone, or leave all three blank for overhead")
	} else if e.Spot.Zone, err = zoneBeside(zone, e); err != nil {
		if c, _, ok, many := oneJob(zone); many != nil {
			err = many
		} else if ok {
			e.Spot, e.Grade, inCell, err = c.Spot, c.grade, &c, nil
		}
	}
	bad("zone", err)
	switch {
	case v.Class.Given():
		bad("class", e.class(v.Class.Text(), zone, inCell))
	case inCell != nil:
	case err != nil:
		bad("class", errNoClass)
	case e.What == "":
		if !r.classByZone(e, zone) {
			bad("class", errNoClass)
		}
	default:
		bad(r.classByWords(e, zone))
	}
}

// class reads the class of a row, with a grade behind it or not; inCell is what the zone's cell says of it.
func (e *Entry) class(text, zone string, inCell *coded) (err error) {
	class, grade, err := classGrade(text)
	if err == nil && inCell != nil && (class != inCell.Class || grade > 0 && inCell.grade > 0 && grade != inCell.grade) {
		return fmt.Errorf("%q is not what the zone's cell %q says; write the one that is right", text, zone)
	}
	e.Spot.Class, e.Grade = class, max(e.Grade, grade)
	return err
}

var errNoClass = errors.New("is blank beside a zone or a grade; write s, c, r, m or e, or leave all three blank for " +
	"overhead")

// classByWords reads the class of a row whose zone is said by the words of its job. It returns the column that is at
// fault.
func (r *ledgerReader) classByWords(e *Entry, zone string) (column string, err error) {
	other := func(said damage.Zone) (string, error) {
		return "zone", fmt.Errorf("%q is the %s, and %q says the %s; write the one that is right", zone, e.Spot.Zone, e.What,
			said)
	}
	if c, rest, ok, err := codeBeside(e); err != nil {
		return "what", err
	} else if ok && c.Zone != e.Spot.Zone {
		return other(c.Zone)
	} else if ok {
		e.Spot.Class, e.Grade, e.What, e.ByWords = c.Class, c.grade, rest, true
		return "", nil
	}
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
	case !ok && r.classByZone(e, zone):
		return "", nil
	case !ok:
		return "class", errNoClass
	case p.Zone != e.Spot.Zone:
		return other(p.Zone)
	}
	e.Spot.Class, e.ByWords = p.Class, true
	return "", nil
}

// classByZone reads the class of a row from the cell of its zone, where that names a part: "n/s sliding door" is
// cosmetic.
func (r *ledgerReader) classByZone(e *Entry, zone string) bool {
	p, ok := partOf("", zone)
	if !ok || !p.Sure() || p.Zone != e.Spot.Zone {
		return false
	}
	e.Spot.Class, e.ByWords = p.Class, true
	return true
}

// codeBeside reads a code among the words of a job whose zone is said; at their start the zone may be left out: "c3
// bumper".
func codeBeside(e *Entry) (c coded, rest string, ok bool, err error) {
	if c, rest, ok, err = oneJob(e.What); ok || err != nil {
		return c, rest, ok, err
	}
	first, others, _ := strings.Cut(e.What, " ")
	if class, grade, is := mark(strings.ToLower(first)); is && grade > 0 {
		return coded{damage.Spot{Zone: e.Spot.Zone, Class: class}, grade}, others, true, nil
	}
	return coded{}, "", false, nil
}

// unplaced reads a row with neither zone nor class by the words of its job.
func (r *ledgerReader) unplaced(e *Entry, v *ledgerRow, bad func(string, error) bool) {
	if e.What == "" {
		bad("what", errors.New("is blank; where no zone is named, write what the money was for"))
		return
	}
	named := func(name string) bool { return tabular.Canonical(name) == tabular.Canonical(e.What) }
	if slices.ContainsFunc(r.how.Fixed, named) || usual(e.What) {
		return
	}
	if item := meaning("same", wordKey(e.What)); item != "" {
		if name, known := r.item(item); known {
			e.What = name
		}
		return
	}
	c, rest, ok, err := oneJob(e.What)
	switch {
	case bad("what", err):
	case ok:
		e.Kind, e.Spot, e.Grade, e.What, e.ByWords = ZoneEntry, c.Spot, c.grade, rest, true
	case r.soldFor(e, v):
		e.Kind, e.Note, e.What = SaleEntry, strings.TrimSpace(e.What+" "+e.Note), SaleEntry.String()
	default:
		r.byWords(e, bad)
	}
}

// soldFor reports whether the row says that the car was sold, and has what it brought in the column for money
// received.
func (r *ledgerReader) soldFor(e *Entry, v *ledgerRow) bool {
	words := plainWords(e.What)
	if !v.Received.Given() || v.Spend.Given() || len(words) == 0 || words[0] != "sold" {
		return false
	}
	near, all := r.near(e.What)
	_, part := partOf("", strings.TrimPrefix(wordKey(e.What), "sold"))
	return all && slices.Equal(near, []string{SaleEntry.String()}) && !part
}

// byWords reads a row by words that name a part of a car, one of the car's own amounts, or a cost of no zone. What
// can't be told is asked about, or, where the ledger has columns of ours for zone and class that are blank, counts as
// overhead and is listed.
func (r *ledgerReader) byWords(e *Entry, bad func(string, error) bool) {
	near, all := r.near(e.What)
	p, part := partOf("", e.What)
	sure := part && p.Sure()
	switch {
	case len(near) > 0 && !(sure && slices.Equal(near, []string{TransportEntry.String()})):
		bad("what", nearWords(e.What, near))
	case !all: // close to an item that this shop does not expect
	case sure && r.strict:
		r.notice(e.Line, "%q counts as overhead; if it was work on the car, write its zone and class: %s, %s", e.What,
			p.Zone, p.Class.Letter())
	case sure:
		e.Kind, e.Spot, e.ByWords = ZoneEntry, damage.Spot{Zone: p.Zone, Class: p.Class}, true
	case sureOverhead(e.What):
	case part && !r.strict:
		bad("what", fmt.Errorf("%q: %s; write its zone and class before it, such as %s %s %s, or overhead: %s if it is not "+
			"in any zone", e.What, p.Doubt, p.Zone, p.Class.Letter(), e.What, e.What))
	case r.slip(e, bad):
	case r.strict:
		e.unsure = true
	default:
		bad("what", fmt.Errorf("%q is not counted: it is not clear where on the car it was; write its zone and class "+
			"before it, such as nose c %s, or overhead: %s if it is not in any zone", e.What, e.What, e.What))
	}
}
