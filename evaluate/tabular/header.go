package tabular

import (
	"fmt"
	"slices"
	"strings"
)

// A Column is one that the caller wants.
type Column struct {
	// Name is the column's own; a file may spell it in any case, with or without
	// spaces, underscores and hyphens.
	Name string
	// Required columns must be there.
	Required bool
	// Or names a wanted column that will do in place of a required one.
	Or string
}

// Options say which columns to look for. The zero value wants none: every column
// is then an extra one.
type Options struct {
	Columns []Column
	// Map gives, by the name of a wanted column, the header under which the file
	// has it: the user's own word, so that a header that is not there is a
	// problem. Nil: none.
	Map map[string]string
	// Saved is like Map, from a mapping kept for such files: Map and then the
	// file come first, so that an entry whose header is not there is passed over
	// with a notice. Nil: none.
	Saved map[string]string
	// At gives the positions, from 0, of columns that the caller has found. A header that is one of them is no other
	// column. Its names are canonical. Map and Saved come first.
	At map[string]int
}

// header is where the wanted columns are.
type header struct {
	spelled []string       // as the file has them, trimmed
	first   map[string]int // the first position of each canonical name
	at      map[string]int // the position of each wanted column, by canonical name
	wanted  map[string]bool
	extra   []string
	notices []string
}

// newHeader finds the wanted columns among the cells of the first record.
func newHeader(cells []string, o Options) (*header, []string) {
	h := &header{first: map[string]int{}, at: map[string]int{}, wanted: map[string]bool{}}
	for _, c := range o.Columns {
		h.wanted[Canonical(c.Name)] = true
	}
	h.spell(cells)
	faults := h.mapped(o)
	for name, at := range o.At {
		if _, done := h.at[Canonical(name)]; !done && at >= 0 && at < len(cells) {
			h.at[Canonical(name)] = at
		}
	}
	faults = append(faults, h.ownNames(o)...)
	for _, c := range o.Columns {
		if c.Required && !h.has(c.Name) && !(c.Or != "" && h.has(c.Or)) {
			faults = append(faults, h.missing(c))
		}
	}
	h.leftovers()
	return h, faults
}

// spell keeps the headers as they are written, and where each first is.
func (h *header) spell(cells []string) {
	for i, cell := range cells {
		h.spelled = append(h.spelled, trim(cell))
		if name := Canonical(cell); name != "" {
			if _, twice := h.first[name]; !twice {
				h.first[name] = i
			}
		}
	}
}

// ownNames places the wanted columns that nothing else has placed by their own names.
func (h *header) ownNames(o Options) (faults []string) {
	for _, c := range o.Columns {
		name := Canonical(c.Name)
		if _, done := h.at[name]; done {
			continue
		}
		switch where := h.where(c.Name); len(where) {
		case 0:
		case 1:
			if _, other := o.At[h.holder(where[0])]; !other {
				h.at[name] = where[0]
			}
		default:
			faults = append(faults, fmt.Sprintf("columns %s are all called %q; rename all but one", numbers(where), c.Name))
			h.at[name] = where[0]
		}
	}
	return faults
}

// holder returns the canonical name of the column that is at a position, "" for none.
func (h *header) holder(at int) string {
	for name, i := range h.at {
		if i == at {
			return name
		}
	}
	return ""
}

// mapped places the columns that are called otherwise.
func (h *header) mapped(o Options) (faults []string) {
	wanted := make([]string, len(o.Columns))
	for i, c := range o.Columns {
		wanted[i] = c.Name
	}
	for _, name := range sortedKeys(o.Map) {
		spelled := o.Map[name]
		where := h.spelledSo(spelled)
		switch {
		case !h.wanted[Canonical(name)]:
			message := fmt.Sprintf("--map %s=%q: there is no column %q to read", name, spelled, name)
			if near := Nearest(name, wanted); near != "" {
				message += fmt.Sprintf("; did you mean %s=%q?", near, spelled)
			} else if len(wanted) > 0 {
				message += "; there are " + strings.Join(wanted, ", ")
			}
			faults = append(faults, message)
		case len(where) == 0:
			message := fmt.Sprintf("--map %s=%q: the file has no such header", name, spelled)
			if near := Nearest(spelled, h.named()); near != "" {
				message += fmt.Sprintf("; did you mean %s=%q?", name, near)
			} else {
				message += "; " + h.list()
			}
			faults = append(faults, message)
			h.at[Canonical(name)] = -1 // no second complaint
		case len(where) > 1:
			faults = append(faults, fmt.Sprintf("--map %s=%q: columns %s are all called that; rename all but one", name,
				spelled, numbers(where)))
			h.at[Canonical(name)] = where[0]
		default:
			h.at[Canonical(name)] = where[0]
		}
	}
	for _, name := range sortedKeys(o.Saved) {
		canonical := Canonical(name)
		if _, mapped := h.at[canonical]; !h.wanted[canonical] || mapped || len(h.where(name)) > 0 {
			continue
		}
		switch where := h.spelledSo(o.Saved[name]); len(where) {
		case 0:
			h.notices = append(h.notices, fmt.Sprintf("the saved mapping has %s=%q, but the file has no such header", name,
				o.Saved[name]))
		case 1:
			h.at[canonical] = where[0]
		default:
			faults = append(faults,
				fmt.Sprintf("the saved mapping has %s=%q, but columns %s are all called that; rename all but one", name,
					o.Saved[name], numbers(where)))
			h.at[canonical] = where[0]
		}
	}
	return faults
}

// where returns the positions of the headers of one canonical form.
func (h *header) where(name string) []int {
	var alike []int
	canonical := Canonical(name)
	for i, spelled := range h.spelled {
		if spelled != "" && Canonical(spelled) == canonical {
			alike = append(alike, i)
		}
	}
	return alike
}

// spelledSo returns the position of the header that is spelled just so, or else
// those of the same canonical form.
func (h *header) spelledSo(name string) []int {
	var exact []int
	for i, spelled := range h.spelled {
		if spelled != "" && spelled == trim(name) {
			exact = append(exact, i)
		}
	}
	if len(exact) > 0 {
		return exact
	}
	return h.where(name)
}

func (h *header) has(name string) bool {
	_, ok := h.at[Canonical(name)]
	return ok
}

// missing says that a required column is not there, and which one may be meant.
func (h *header) missing(c Column) string {
	names := []string{c.Name}
	message := fmt.Sprintf("no column %q", c.Name)
	if c.Or != "" {
		names = append(names, c.Or)
		message += fmt.Sprintf(" or %q", c.Or)
	}
	var free []string
	for i, spelled := range h.spelled {
		if spelled != "" && !h.taken(i) {
			free = append(free, spelled)
		}
	}
	for _, name := range names {
		if near := Nearest(name, free); near != "" {
			message += fmt.Sprintf("; did you mean %q? use --map %s=%q", near, name, near)
			if c.Or != "" && name == c.Name {
				message += fmt.Sprintf(" or --map %s=%q", c.Or, near)
			}
			return message
		}
	}
	return message + "; " + h.list() + fmt.Sprintf("; if one of them is it, use --map %s=\"its header\"", c.Name)
}

func (h *header) taken(i int) bool {
	for _, at := range h.at {
		if at == i {
			return true
		}
	}
	return false
}

// named returns the headers that are not blank.
func (h *header) named() []string {
	var names []string
	for _, spelled := range h.spelled {
		if spelled != "" {
			names = append(names, spelled)
		}
	}
	return names
}

// list names the first few headers.
func (h *header) list() string {
	const few = 12
	names := h.named()
	if len(names) == 0 {
		return "the header is blank"
	}
	quoted := make([]string, 0, few)
	for _, name := range names[:min(few, len(names))] {
		quoted = append(quoted, fmt.Sprintf("%q", excerpt(name)))
	}
	more := ""
	if len(names) > few {
		more = fmt.Sprintf(" and %d more", len(names)-few)
	}
	return "the file has " + strings.Join(quoted, ", ") + more
}

// leftovers lists the columns that nobody asked for.
func (h *header) leftovers() {
	var nameless []int
	for i, spelled := range h.spelled {
		switch {
		case h.taken(i):
		case spelled == "":
			nameless = append(nameless, i)
		case h.first[Canonical(spelled)] != i && Canonical(spelled) != "":
			h.notices = append(h.notices, fmt.Sprintf("column %d is a second %q; the first one is read", i+1, spelled))
		default:
			h.extra = append(h.extra, spelled)
		}
	}
	switch len(nameless) {
	case 0:
	case 1:
		h.notices = append(h.notices, fmt.Sprintf("column %d has no header and is not read", nameless[0]+1))
	default:
		h.notices = append(h.notices, fmt.Sprintf("columns %s have no header and are not read", numbers(nameless)))
	}
}

// numbers lists positions, counted from 1.
func numbers(at []int) string {
	words := make([]string, len(at))
	for i, n := range at {
		words[i] = fmt.Sprint(n + 1)
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
