package probe

import (
	"cmp"
	"math"

	"wreckoner/damage"
	"wreckoner/evaluate"
)

// ownMarks are the items that the lot's code says are suspected: the person's own
// doubts, which are named before what rules add.
func ownMarks(lot *evaluate.Lot) map[damage.Item]damage.Mark {
	own := map[damage.Item]damage.Mark{}
	for _, m := range lot.Code.Marks() {
		if m.State == damage.Suspected {
			own[m.Item] = m
		}
	}
	return own
}

// standing is what an item's place in a list of things to look at follows from.
type standing struct {
	own   bool
	worth float64 // of knowing, in pounds
	// then breaks ties of worth: how much of the doubt about the lot is the item's.
	then  float64
	index int
}

// compare orders what to look at, the same on every screen and page: the person's own
// suspected marks first, then by falling worth of knowing, to the penny.
func (a standing) compare(b standing) int {
	if a.own != b.own {
		if a.own {
			return -1
		}
		return 1
	}
	pence := func(x float64) float64 { return math.Round(x * 100) }
	return cmp.Or(cmp.Compare(pence(b.worth), pence(a.worth)), cmp.Compare(b.then, a.then), cmp.Compare(a.index, b.index))
}

func (u *Unknown) standing() standing { return standing{u.Own, u.Worth, u.VarianceShare, u.Index()} }
