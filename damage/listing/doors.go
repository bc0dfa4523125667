package listing

import (
	"strconv"
	"strings"
)

// Cars have at most this many side doors: "5 door" is always the body.
const mostDoors = 4

// A doorCount is a term that is a body ("2 door", "4dr") or so many doors among
// damaged parts ("wing, 2 doors, sill"), and what is beside it.
type doorCount struct {
	ts terms
	i  int
	// n is the number of doors, plural whether it is typed "doors".
	n      int
	plural bool
}

// next is the term after it, the zero term where it is the last.
func (d doorCount) next() term {
	if d.i+1 < len(d.ts) {
		return d.ts[d.i+1]
	}
	return term{}
}

// beside reports whether the nearest word before or after it says which car it is:
// "5 doors, petrol".
func (d doorCount) beside() bool {
	for _, step := range []int{-1, 1} {
		j := d.i + step
		for j >= 0 && j < len(d.ts) && d.ts[j].stop == ',' {
			j += step
		}
		if j >= 0 && j < len(d.ts) && d.ts[j].plays(style) && !d.ts[j].plays(doors) {
			return true
		}
	}
	return false
}

// A doorReading is how a doorCount is read.
type doorReading int

const (
	aBody doorReading = iota
	severalDoors
	unclearDoors
)

// doorReadings say how a number of doors is read.
var doorReadings = verdicts[doorCount, doorReading]{
	{"5 doors", func(d doorCount) bool { return d.n > mostDoors }, aBody},
	{"4 doors, petrol", doorCount.beside, aBody},
	{"2 doors n/s", func(d doorCount) bool { return d.plural }, severalDoors},
	{"2 door dented", func(d doorCount) bool { return d.next().is(harm) }, severalDoors},
	{"bumper, 2 door, sill", func(d doorCount) bool { return enumerated(d.ts, d.i) }, severalDoors},
	{"2 door n/s: the body, or both doors?", func(d doorCount) bool {
		return d.next().is(positional | severity)
	}, unclearDoors},
	{"4 door, bonnet dented", always[doorCount], aBody},
}

// readDoors reads numbers of doors: as the body they mean nothing, among damaged
// parts they are a count and the doors. Where neither is clear they are left as
// words that are not understood.
func (l *Lexicon) readDoors(text string, ts terms) terms {
	out := make(terms, 0, len(ts))
	for i, t := range ts {
		if !t.plays(doors) {
			out = append(out, t)
			continue
		}
		d, parts := l.doorCount(text, ts, i)
		switch doorReadings.of(d) {
		case severalDoors:
			out = append(out, parts...)
		case unclearDoors:
			out = append(out, term{word: strings.ToLower(text[t.from:t.to]), from: t.from, to: t.to})
		default:
			out = append(out, t)
		}
	}
	return out
}

// doorCount takes term i apart: its number, and the count and the doors that it is
// where it is not the body.
func (l *Lexicon) doorCount(text string, ts terms, i int) (d doorCount, parts terms) {
	t := ts[i]
	d = doorCount{ts: ts, i: i}
	written := text[t.from:t.to]
	cut := strings.IndexFunc(written, func(r rune) bool { return r < '0' || r > '9' })
	pieces := strings.Fields(written)
	if cut > 0 {
		pieces = []string{written[:cut], strings.TrimLeft(written[cut:], " -")}
	} else if len(pieces) == 1 {
		pieces = strings.SplitN(written, "-", 2)
	}
	at := t.from
	for k, piece := range pieces {
		from := at + strings.Index(text[at:t.to], piece)
		at = from + len(piece)
		e, plural := l.lookup(strings.Join(plainWords(piece), ""))
		if k == 0 {
			d.n, e = l.number(piece, e)
		} else {
			d.plural = d.plural || plural
		}
		parts = append(parts, term{entry: e, plural: plural || k > 0, from: from, to: at, word: strings.ToLower(piece)})
	}
	return d, parts
}

// number returns the number that a word is, and the word's entry as a count: that
// of several where the number has none of its own.
func (l *Lexicon) number(word string, e *entry) (int, *entry) {
	n, err := strconv.Atoi(word)
	if err != nil && e != nil && e.kind == count {
		n = e.sense().number
	}
	if e == nil || e.kind != count {
		e = nil
	}
	return n, e
}
