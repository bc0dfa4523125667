package listing

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/damage"
)

// Sides and ends, as bits.
const (
	near = 1 << iota
	off
)
const (
	front = 1 << iota
	rear
)

// A location is a position as said: which sides, which ends.
type location struct {
	side, end int
	// flank is "the side" of the car without saying which.
	flank bool
	// corner says that a corner is meant, though a side or end may be unsaid.
	corner bool
	// all is all round.
	all bool
	// along is the whole length of a side, from corner to corner.
	along bool
	// seat is a side named after who sits there: "driver".
	seat bool
}

// locationWords are the words of the lexicon's column means for a position.
var locationWords = map[string]location{
	"near": {side: near}, "off": {side: off}, "both": {side: near | off},
	"front": {end: front}, "rear": {end: rear}, "side": {flank: true}, "corner": {corner: true},
	"all": {all: true}, "along": {along: true}, "seat": {seat: true}, "middle": {},
}

func parseLocation(text string) (location, error) {
	var w location
	for _, word := range strings.Fields(strings.ToLower(text)) {
		add, ok := locationWords[word]
		if !ok {
			return w, fmt.Errorf("%q is not a position; "+
				"write near, off, both, front, rear, side, corner, along, all, middle or seat", word)
		}
		w = w.with(add)
	}
	return w, nil
}

// says reports whether the position places anything on its own.
func (w location) says() bool {
	w.seat = false
	return w != location{}
}

// joins reports whether v can be in one phrase with w: "nearside" with
// "front", but not "front" with "rear".
func (w location) joins(v location) bool {
	agree := func(a, b int) bool { return a == 0 || b == 0 || a == b }
	return agree(w.side, v.side) && agree(w.end, v.end)
}

func (w location) with(v location) location {
	return location{
		side: w.side | v.side, end: w.end | v.end, flank: w.flank || v.flank, corner: w.corner || v.corner,
		all: w.all || v.all, along: w.along || v.along, seat: w.seat || v.seat,
	}
}

// pairs reports whether v says of another place what w says of one: "front" and
// "rear", "nearside front" and "offside front" or only "rear".
func (w location) pairs(v location) bool {
	sides := (w.side != 0) == (v.side != 0) && w.flank == v.flank
	ends := (w.end != 0) == (v.end != 0)
	return sides && ends || w.end != 0 && v.end != 0 && w.end != v.end
}

// oneSide reports whether the position is one side or the other.
func (w location) oneSide() bool { return w.side == near || w.side == off }

// A candidate is a zone and the chance in percent that it is the one, 0 where it
// was said.
type candidate struct {
	zone  damage.Zone
	guess int
}

// Chances of zones that were not said: each of two sides; the corners between
// ends and sides that are damaged all round; the ends between four corners.
const (
	guessPercent  = 50
	cornerPercent = 40
	bumperPercent = 45
)

// layout says at which side and end each zone of sheet metal is.
var layout = []struct {
	zone damage.Zone
	sideEnd
}{
	{damage.Nose, sideEnd{0, front}},
	{damage.Tail, sideEnd{0, rear}},
	{damage.SideNear, sideEnd{near, 0}},
	{damage.SideOff, sideEnd{off, 0}},
	{damage.FrontNear, sideEnd{near, front}},
	{damage.FrontOff, sideEnd{off, front}},
	{damage.RearNear, sideEnd{near, rear}},
	{damage.RearOff, sideEnd{off, rear}},
}

// A sideEnd is a side and an end, 0 for none.
type sideEnd struct{ side, end int }

// sideEndOf is the side and the end that a zone implies.
func sideEndOf(z damage.Zone) sideEnd {
	for _, l := range layout {
		if l.zone == z {
			return l.sideEnd
		}
	}
	return sideEnd{}
}

// corners returns the corners at those sides and ends, or the sides where end
// is 0, each with the guess.
func corners(side, end, guess int) []candidate {
	var out []candidate
	for _, l := range layout {
		if l.side&side != 0 && (l.end&end != 0 || end == 0 && l.end == 0) {
			out = append(out, candidate{l.zone, guess})
		}
	}
	return out
}

// ends returns the nose, the tail, both or neither.
func ends(end int) []candidate {
	var out []candidate
	for _, l := range layout {
		if l.side == 0 && l.end&end != 0 {
			out = append(out, candidate{zone: l.zone})
		}
	}
	return out
}

// allRound is what "all round" covers; the corners lie between.
func allRound() []candidate {
	return slices.Concat(ends(front|rear), corners(near|off, 0, 0), corners(near|off, front|rear, cornerPercent))
}

// fourCorners are the corners and, between them, the ends of the bumpers.
func fourCorners() []candidate {
	bumpers := []candidate{{damage.Nose, bumperPercent}, {damage.Tail, bumperPercent}}
	return slices.Concat(corners(near|off, front|rear, 0), bumpers)
}

// zones returns the zones of damage to an area. nearby is what the words around
// say of side and end.
func (w location) zones(nearby sideEnd) []candidate {
	switch {
	case w.all && w.corner:
		return fourCorners()
	case w.all:
		return allRound()
	}
	side, guess := w.sideOr(nearby)
	end := w.end
	if end == 0 && w.corner {
		end = orElse(nearby.end, front)
	}
	switch {
	case w.along:
		return slices.Concat(corners(side, front, guess), corners(side, 0, guess), corners(side, rear, guess))
	case side == 0:
		return ends(end)
	case w.side == near|off && w.end != 0 && !w.corner:
		// "front and both sides" run together.
		return slices.Concat(ends(end), corners(side, 0, guess))
	}
	return corners(side, end, guess)
}

// sideOr is the side, where one is meant but not said the one nearby, else both
// with a guess.
func (w location) sideOr(nearby sideEnd) (side, guess int) {
	switch {
	case w.side != 0 || !w.flank && !w.corner && !w.along:
		return w.side, 0
	case nearby.side != 0:
		return nearby.side, 0
	}
	return near | off, guessPercent
}

// orElse returns a, or b where a is 0.
func orElse(a, b int) int {
	if a == 0 {
		return b
	}
	return a
}

// A placing is what is known of where a part is: what was said of the part
// itself and nearby, and whether there are several of it.
type placing struct {
	own    location
	plural bool
	// side and end are those of the part, or of the words nearby, all sides
	// where none is said; guess is then the chance of each.
	side, end, guess int
}

func newPlacing(own location, nearby sideEnd, plural bool) placing {
	p := placing{own: own, plural: plural, side: orElse(own.side, nearby.side), end: orElse(own.end, nearby.end)}
	if p.side == 0 {
		p.side = near | off
		if !plural {
			p.guess = guessPercent
		}
	}
	if own.all {
		p.side, p.guess = near|off, 0
	}
	return p
}

// placeRules say which zones a part of each generic place is in.
var placeRules = map[string]func(placing) []candidate{
	bags:        func(placing) []candidate { return []candidate{{zone: damage.Cabin}} },
	anyEnd:      placing.bumper,
	frontCorner: func(p placing) []candidate { return corners(p.side, orElse(p.own.end, front), p.guess) },
	rearCorner:  func(p placing) []candidate { return corners(p.side, orElse(p.own.end, rear), p.guess) },
	anySide:     func(p placing) []candidate { return corners(p.side, 0, p.guess) },
	anyCorner:   placing.wheel,
	leg:         placing.chassisLeg,
}

// zones returns the zones of a part.
func (p place) zones(own location, nearby sideEnd, plural bool) []candidate {
	if p.generic == "" {
		return []candidate{{zone: p.zone}}
	}
	if find := placeRules[p.generic]; find != nil {
		return find(newPlacing(own, nearby, plural))
	}
	return nil
}

// bumper places what is at either end: in front where nothing is said.
func (p placing) bumper() []candidate {
	switch {
	case p.own.all, p.end == 0 && p.plural:
		return ends(front | rear)
	}
	return ends(orElse(p.end, front))
}

// wheel places what is at any corner.
func (p placing) wheel() []candidate {
	bothOfSide := p.own.end == 0 && p.plural && (p.own.oneSide() || p.own.flank && p.guess == 0)
	switch {
	case p.own.all, bothOfSide:
		return corners(p.side, front|rear, p.guess)
	case p.end == 0 && p.guess > 0:
		return corners(near|off, front|rear, guessPercent/2)
	case p.end == 0 && p.side == near|off:
		return corners(p.side, front|rear, 0)
	}
	return corners(p.side, orElse(p.end, front), p.guess)
}

// chassisLeg places a leg: at a corner where its side is known.
func (p placing) chassisLeg() []candidate {
	end := orElse(p.end, front)
	if p.guess > 0 || p.plural && p.own.side == 0 {
		return ends(end)
	}
	return corners(p.side, end, 0)
}
