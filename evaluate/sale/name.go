package sale

import (
	"fmt"
	"path/filepath"
	"strings"

	"wreckoner/evaluate"
	"wreckoner/evaluate/tabular"
)

// names are those by which a lot can be asked for, the shortest first. A list gives a lot
// whose number is not unique its site as well: the number alone is still a name.
func names(lot *evaluate.Lot) []string {
	number := lot.Number[strings.LastIndex(lot.Number, ":")+1:]
	out := []string{number}
	if lot.Site != "" {
		out = append(out, lot.Site+":"+number)
		if lot.SaleDate != "" {
			out = append(out, lot.Site+":"+lot.SaleDate+":"+number)
		}
	}
	list := filepath.Base(lot.File)
	list = strings.TrimSuffix(list, filepath.Ext(list))
	if !strings.EqualFold(list, lot.Site) { // else that is a name already
		out = append(out, list+":"+number)
	}
	return append(out, fmt.Sprintf("%s:%d:%s", list, lot.Line, number))
}

// name gives each lot the shortest name that no other has.
func (s *Sale) name() {
	count := map[string]int{}
	for i := range s.Entries {
		for _, n := range names(s.Entries[i].Result.Lot) {
			count[strings.ToLower(n)]++
		}
	}
	for i := range s.Entries {
		for _, n := range names(s.Entries[i].Result.Lot) {
			if s.Entries[i].Plan.Name = n; count[strings.ToLower(n)] == 1 {
				break
			}
		}
	}
}

// find returns the place of a lot by one of its names; site and day, where they are not
// "", narrow the choice.
func (s *Sale) find(name, site, day string) (int, error) {
	found, all := []int{}, []string{}
	for i := range s.Entries {
		lot := s.Entries[i].Result.Lot
		if site != "" && !strings.EqualFold(site, lot.Site) || day != "" && day != lot.SaleDate {
			continue
		}
		all = append(all, s.Entries[i].Plan.Name)
		for _, n := range names(lot) {
			if strings.EqualFold(n, name) {
				found = append(found, i)
				break
			}
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		choices := make([]string, len(found))
		for a, i := range found {
			choices[a] = s.Entries[i].Plan.Name
		}
		return 0, fmt.Errorf("%d lots are called %s; write one of %s", len(found), name, strings.Join(choices, ", "))
	}
	where := strings.Join(s.Lists, " or ")
	if site != "" || day != "" {
		where += strings.TrimRight(" at "+site+" "+day, " ")
	}
	err := fmt.Errorf("%q is not in %s", name, where)
	if near := tabular.Nearest(name, all); near != "" {
		err = fmt.Errorf("%w; did you mean %s?", err, near)
	}
	return 0, err
}
