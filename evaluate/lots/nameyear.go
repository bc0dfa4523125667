package lots

import (
	"regexp"
	"strconv"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular/typed"
)

// yearFirst is a car's name behind its year: 2019 Velmary Tiffet. A name of figures is none.
var yearFirst = regexp.MustCompile(`^((?:19|20)[0-9]{2}) +(\pL.*)$`)

// nameYear reads the year of a car from in front of its name, where the list has no column of years.
func (r *lotReader) nameYear(lot *evaluate.Lot) {
	if r.table.Has("year") || lot.Year > 0 {
		return
	}
	for _, name := range []*string{&lot.Make, &lot.Model} {
		if *name == "" {
			continue
		}
		m := yearFirst.FindStringSubmatch(*name)
		if m == nil {
			return
		}
		if _, err := typed.ParseYear(m[1], r.now); err != nil {
			return
		}
		year, err := strconv.Atoi(m[1])
		if err != nil {
			return
		}
		lot.Year, *name = year, m[2]
		r.said.add("the year is read from in front of the car's name", lot)
		return
	}
}
