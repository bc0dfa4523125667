package lots

import (
	"fmt"
	"hash/maphash"
	"strconv"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// cars notice a car that several lists have: by its registration, or by make, model, year, miles and damage.
type cars struct {
	seed    maphash.Seed
	seen    map[uint64]string
	notices []string
}

// mostCars is how many cars are remembered; mostTwice how many that are listed twice are named.
const (
	mostCars  = 200_000
	mostTwice = 50
)

func newCars() *cars { return &cars{seed: maphash.MakeSeed(), seen: map[uint64]string{}} }

// see takes note of a car, and says so where it was listed before.
func (c *cars) see(lot *evaluate.Lot) {
	var keys []string
	if plate := strings.ToUpper(tabular.Canonical(lot.Registration)); plate != "" {
		keys = append(keys, "plate "+plate)
	}
	if lot.Make+lot.Model != "" && lot.Year != 0 && lot.Odometer != 0 {
		keys = append(keys, strings.ToLower(strings.Join([]string{lot.Make, lot.Model, strconv.Itoa(lot.Year),
			strconv.Itoa(lot.Odometer), lot.Code.String()}, "\x00")))
	}
	name := fmt.Sprintf("%s:%d", lot.File, lot.Line)
	for _, k := range keys {
		hash := maphash.String(c.seed, k)
		if before, twice := c.seen[hash]; twice {
			if len(c.notices) < mostTwice {
				c.notices = append(c.notices, fmt.Sprintf("%s: lot %s looks like the same car as %s", name, lot.Number, before))
			}
			return
		}
	}
	for _, k := range keys {
		if len(c.seen) < mostCars {
			c.seen[maphash.String(c.seed, k)] = fmt.Sprintf("%s (lot %s)", name, lot.Number)
		}
	}
}
