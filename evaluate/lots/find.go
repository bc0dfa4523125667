package lots

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// Find returns a lot by its number, or where several have that number by SITE:LOT, SITE:DAY:LOT or LIST:LOT, LIST being
// the file's name without its ending.
func (l *List) Find(name string) (*evaluate.Lot, error) {
	name = strings.TrimSpace(name)
	var found []*evaluate.Lot
	for _, lot := range l.Lots {
		if slices.ContainsFunc(namesOf(lot), func(n string) bool { return strings.EqualFold(n, name) }) {
			found = append(found, lot)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		var names []string
		for _, lot := range found {
			names = append(names, l.Name(lot))
		}
		return nil, fmt.Errorf("%d lots are called %q; write one of %s", len(found), name, strings.Join(names, ", "))
	}
	var names []string
	for _, lot := range l.Lots {
		names = append(names, lot.Number)
	}
	hint := "the list has none that can be read"
	if near := tabular.Nearest(name, names); near != "" {
		hint = "did you mean " + near + "?"
	} else if len(names) > 0 {
		hint = fmt.Sprintf("the list has %d, from %s to %s", len(names), names[0], names[len(names)-1])
	}
	return nil, fmt.Errorf("there is no lot %q; %s", name, hint)
}

// namesOf are the names by which a lot can be asked for.
func namesOf(lot *evaluate.Lot) []string {
	number := lot.Number
	if lot.Listed != "" {
		number = lot.Listed
	}
	names := []string{number}
	if lot.Site != "" {
		names = append(names, lot.Site+":"+number)
		if lot.SaleDate != "" {
			names = append(names, lot.Site+":"+lot.SaleDate+":"+number)
		}
	}
	if list := listName(lot.File); list != "" {
		names = append(names, list+":"+number)
	}
	return names
}

// listName is a file's name without folder and ending.
func listName(file string) string {
	if i := strings.LastIndexAny(file, `/\`); i >= 0 {
		file = file[i+1:]
	}
	if i := strings.LastIndexByte(file, '.'); i > 0 {
		file = file[:i]
	}
	return file
}

// Name is the shortest name of a lot that no other lot has.
func (l *List) Name(lot *evaluate.Lot) string {
	if l.names == nil {
		l.names = map[string]int{}
		for _, other := range l.Lots {
			for _, n := range namesOf(other) {
				l.names[strings.ToLower(n)]++
			}
		}
	}
	names := namesOf(lot)
	for _, n := range names {
		if l.names[strings.ToLower(n)] == 1 {
			return n
		}
	}
	return names[len(names)-1]
}
