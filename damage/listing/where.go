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

// A where is a position as said: which sides, which ends.
type where struct {
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

func parseWhere(text string) (where, error) {
	var w where
	for _, word := range strings.Fields(strings.ToLower(text)) {
		switch word {
		case "near":
			w.side |= near
		case "off":
			w.side |= off
		case "both":
			w.side |= near | off
		case "front":
			w.end |= front
		case "rear":
			w.end |= rear
		case "side":
			w.flank = true
		case "corner":
			w.corner = true
		case "all":
			w.all = true
		case "along":
			w.along = true
		case "seat":
			w.seat = true
		case "middle":
		default:
			return w, fmt.Errorf("%q is no position; write near, off, both, front, rear, side, corner, along, all, middle or seat", word)
		}
	}
	return w, nil
}

// says reports whether the position places anything on its own.
func (w where) says() bool {
	return w.side != 0 || w.end != 0 || w.flank || w.all || w.corner || w.along
}

// joins reports whether v can stand in one phrase with w: "nearside" with
// "front", but not "front" with "rear".
func (w where) joins(v where) bool {
	return !(w.side != 0 && v.side != 0 && w.side != v.side) && !(w.end != 0 && v.end != 0 && w.end != v.end)
}

func (w where) with(v where) where {
	return where{w.side | v.side, w.end | v.end, w.flank || v.flank, w.corner || v.corner, w.all || v.all, w.along || v.along, w.seat || v.seat}
}

// pairs reports whether v says of another place what w says of one: "front" and
// "rear", "nearside front" and "offside front" or only "rear".
func (w where) pairs(v where) bool {
	sides := (w.side != 0) == (v.side != 0) && w.flank == v.flank
	ends := (w.end != 0) == (v.end != 0)
	return sides && ends || w.end != 0 && v.end != 0 && w.end != v.end
}

// A site is a zone and whether it was said or has to be guessed.
type site struct {
	zone  damage.Zone
	guess int
}

// guessPercent is the chance of each of two sides where no side was said.
const guessPercent = 50

// corners returns the corners, or the sides where end is 0.
func corners(side, end, guess int) []site {
	var sites []site
	add := func(z damage.Zone) { sites = append(sites, site{z, guess}) }
	if end == 0 {
		if side&near != 0 {
			add(damage.SideNear)
		}
		if side&off != 0 {
			add(damage.SideOff)
		}
	}
	if end&front != 0 && side&near != 0 {
		add(damage.FrontNear)
	}
	if end&front != 0 && side&off != 0 {
		add(damage.FrontOff)
	}
	if end&rear != 0 && side&near != 0 {
		add(damage.RearNear)
	}
	if end&rear != 0 && side&off != 0 {
		add(damage.RearOff)
	}
	return sites
}

func ends(end int) []site {
	var sites []site
	if end&front != 0 {
		sites = append(sites, site{zone: damage.Nose})
	}
	if end&rear != 0 {
		sites = append(sites, site{zone: damage.Tail})
	}
	return sites
}

// allRound is what "all round" covers; the corners lie between.
func allRound() []site {
	sites := []site{{zone: damage.Nose}, {zone: damage.SideNear}, {zone: damage.SideOff}, {zone: damage.Tail}}
	for _, z := range []damage.Zone{damage.FrontNear, damage.FrontOff, damage.RearNear, damage.RearOff} {
		sites = append(sites, site{z, 40})
	}
	return sites
}

// fourCorners are the corners and, between them, the ends of the bumpers.
func fourCorners() []site {
	sites := corners(near|off, front|rear, 0)
	return append(sites, site{damage.Nose, 45}, site{damage.Tail, 45})
}

// An around is what the words nearby say of a position that is not said at the
// part itself.
type around struct{ side, end int }

// sites returns the zones of a part. own is what was said of the part itself,
// plural that there is more than one of it.
func (p place) sites(own where, nearby around, plural bool) []site {
	if p.generic == "" || p.generic == "bags" {
		zone := p.zone
		if p.generic == "bags" {
			zone = damage.Cabin
		}
		return []site{{zone: zone}}
	}
	side, guess := own.side, 0
	if side == 0 {
		side = nearby.side
	}
	if side == 0 {
		side = near | off
		if !plural && !own.all {
			guess = guessPercent
		}
	}
	if own.all {
		side, guess = near|off, 0
	}
	end := own.end
	if end == 0 {
		end = nearby.end
	}
	switch p.generic {
	case "end":
		if own.all {
			end = front | rear
		}
		if end == 0 {
			end = front
			if plural && nearby.end == 0 {
				end |= rear
			}
		}
		return ends(end)
	case "front", "rear":
		end = own.end
		if end == 0 {
			end = map[string]int{"front": front, "rear": rear}[p.generic]
		}
		return corners(side, end, guess)
	case "side":
		return corners(side, 0, guess)
	case "corner":
		if own.all {
			end = front | rear
		}
		if own.end == 0 && plural && (own.side == near || own.side == off || own.flank && guess == 0) {
			// "both nearside wheels"
			end = front | rear
		}
		if end == 0 && guess > 0 {
			return corners(near|off, front|rear, guessPercent/2)
		}
		if end == 0 && side == near|off {
			return corners(side, front|rear, 0)
		}
		if end == 0 {
			end = front
		}
		return corners(side, end, guess)
	case "leg":
		if end == 0 {
			end = front
		}
		if guess > 0 || plural && own.side == 0 {
			return ends(end)
		}
		return corners(side, end, 0)
	}
	return nil
}

// sites returns the zones of damage to an area.
func (w where) sites(nearby around) []site {
	side, guess := w.side, 0
	if w.all && w.corner {
		return fourCorners()
	}
	if w.all {
		return allRound()
	}
	if side == 0 && (w.flank || w.corner || w.along) {
		side = nearby.side
		if side == 0 {
			side, guess = near|off, guessPercent
		}
	}
	if w.along {
		return slices.Concat(corners(side, front, guess), corners(side, 0, guess), corners(side, rear, guess))
	}
	end := w.end
	if end == 0 && w.corner {
		end = nearby.end
		if end == 0 {
			end = front
		}
	}
	if side == 0 {
		return ends(end)
	}
	if w.side == near|off && w.end != 0 && !w.corner {
		// "front and both sides" run together.
		return slices.Concat(ends(end), corners(side, 0, guess))
	}
	return corners(side, end, guess)
}

// aroundZone is the side and the end that a zone implies.
func aroundZone(z damage.Zone) around {
	switch z {
	case damage.Nose:
		return around{end: front}
	case damage.Tail:
		return around{end: rear}
	case damage.FrontNear:
		return around{near, front}
	case damage.FrontOff:
		return around{off, front}
	case damage.RearNear:
		return around{near, rear}
	case damage.RearOff:
		return around{off, rear}
	case damage.SideNear:
		return around{side: near}
	case damage.SideOff:
		return around{side: off}
	}
	return around{}
}
