package lots

import (
	"hash/maphash"
	"slices"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// names says which lot numbers stand for several lots of one or more lists, by hashes: 8 bytes a lot while they are
// counted, next to nothing after. Two numbers of one hash are at worst told apart without need.
type names struct {
	seed    maphash.Seed
	several bool     // there are several lists
	listed  []uint64 // of every lot, until counted
	bare    map[uint64]bool
	sited   map[uint64]bool
}

func newNames(several bool) *names { return &names{seed: maphash.MakeSeed(), several: several} }

func (n *names) hash(parts ...string) uint64 {
	return maphash.String(n.seed, strings.ToLower(strings.Join(parts, "\x00")))
}

// see takes note of a lot number.
func (n *names) see(number string) { n.listed = append(n.listed, n.hash(number)) }

// repeated returns the hashes that occur more than once.
func repeated(all []uint64) map[uint64]bool {
	slices.Sort(all)
	twice := map[uint64]bool{}
	for i := 1; i < len(all); i++ {
		if all[i] == all[i-1] {
			twice[all[i]] = true
		}
	}
	return twice
}

// count ends the counting of bare numbers, and reports whether one stands for several lots.
func (n *names) count() bool {
	n.bare = repeated(n.listed)
	n.listed = nil
	return len(n.bare) > 0
}

// name gives a lot the shortest name that is its own: SITE:LOT, SITE:DAY:LOT, or LIST:LOT where the site or, of one
// site in several lists, the day is unknown.
func (n *names) name(lot *evaluate.Lot) {
	if n == nil || len(n.bare) == 0 || lot.Number == "" || !n.bare[n.hash(lot.Number)] {
		return
	}
	number := lot.Number
	again := n.sited[n.hash(lot.Site, number)] // at this site too
	switch {
	case lot.Site != "" && lot.SaleDate != "" && again:
		lot.Number = lot.Site + ":" + lot.SaleDate + ":" + number
	case lot.Site != "" && !again:
		lot.Number = lot.Site + ":" + number
	case n.several:
		lot.Number = listName(lot.File) + ":" + number
	default:
		return
	}
	lot.Listed = number
}

// sites goes through a list once more, where a bare number stands for several lots, and returns the hash of each such
// lot's site and number.
func (l *Lots) sites(n *names) ([]uint64, error) {
	if l.again == nil {
		return nil, nil
	}
	source, closer, err := l.again()
	if err != nil {
		return nil, err
	}
	defer closer.Close() // it was only read
	lot, site := l.table.At("lot"), l.table.At("site")
	var all []uint64
	for {
		r, err := source.Next()
		if err != nil {
			return all, ended(err)
		}
		cell := func(at int) string {
			if at < 0 || at >= len(r.Cells) {
				return ""
			}
			return tabular.NewCell(r.Cells[at]).Text()
		}
		if number := cell(lot); number != "" && n.bare[n.hash(number)] {
			where := cell(site)
			if named, err := l.reader.siteNamed(where); err == nil {
				where = named
			} else if where == "" {
				where = l.reader.site
			}
			all = append(all, n.hash(where, number))
		}
	}
}
