package layout

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// Options say what is looked for in a file.
type Options struct {
	Columns []Column
	// Key is the column without which a row is none.
	Key string
	// Given are the columns that somebody has placed, and the header of each.
	Given map[string]string
	// Pick, where not nil, returns the columns of a saved mapping that a header has. Given comes first.
	Pick func(headers []string) map[string]string
	// HeaderRow is the line of the header; 0: it is looked for.
	HeaderRow int
	// HeaderAt, where not nil, reports whether a line is the header that a saved mapping names. HeaderRow comes first.
	HeaderAt func(line int, headers []string) bool
	// Deepest is the last line that HeaderAt may name.
	Deepest int
	// Heading reads a row that holds for those under it, such as a site and a day, as columns; title says that it
	// stands above the header. Nil: there are none.
	Heading func(text string, title bool) (values map[string]string, ok bool)
	// Same, where not nil, reports whether a header further down says the same of a column's cells as the first does:
	// miles are no kilometres.
	Same func(column, first, later string) bool
	// Observe, where not nil, is shown every cell of the columns by name.
	Observe func(column, cell string)
}

// A Plan is what was decided of a file before any of its rows is worked out.
type Plan struct {
	// HeaderLine is the line of the header, 0 for the first record.
	HeaderLine int
	// Found are the headers of the columns that go by another name, by column.
	Found map[string]string
	// Doubts say what may be one column or another, and what to type.
	Doubts []string
	// Above are the columns of which a blank cell may mean the one above it.
	Above map[string]bool

	options Options
	headers []string
	columns []*Column // of each header
	merges  []tabular.Merge
	titles  map[string]string // what titles say of the whole file
	added   []string          // columns that only headings and titles have
	said    []string
	heads   bool            // rows between hold for those under them
	names   map[string]bool // all that columns are called
}

// mostAbove is among how many records the header is looked for; mostSampled is how many rows tell what a column means.
const (
	mostAbove   = 30
	mostSampled = 500
)

// Survey reads a whole file for what is to be decided once. The source is read to its end.
func Survey(source tabular.Loose, o Options) (*Plan, error) {
	source.Loosen()
	p := &Plan{options: o, Found: map[string]string{}, Above: map[string]bool{}, titles: map[string]string{},
		names: namesOf(o.Columns)}
	var err error
	if p.merges, err = source.Merged(); err != nil {
		return nil, err
	}
	s := &surveyor{plan: p, source: source}
	if err := s.top(); err != nil {
		return nil, err
	}
	if err := s.rest(); err != nil {
		return nil, err
	}
	s.decide()
	return p, nil
}

// FromHeader is the plan of a file of which only the header is known, so that no row's reading depends on another's.
// In a column with merged cells a blank one may mean the cell above it.
func FromHeader(headers []string, o Options, merges []tabular.Merge) *Plan {
	p := &Plan{options: o, Found: map[string]string{}, Above: map[string]bool{}}
	p.settle(headers, nil)
	for _, m := range merges {
		if m.Column < len(p.columns) && p.columns[m.Column] != nil && p.columns[m.Column].Above != Never {
			p.Above[p.columns[m.Column].Name] = true
		}
	}
	return p
}

// settle finds the columns of the header.
func (p *Plan) settle(headers []string, samples [][]string) {
	p.headers = make([]string, len(headers))
	for i, h := range headers {
		p.headers[i] = strings.Join(strings.Fields(h), " ")
	}
	given := map[string]string{}
	if p.options.Pick != nil {
		maps.Copy(given, p.options.Pick(headers))
	}
	maps.Copy(given, p.options.Given)
	g := guess(p.options.Columns, p.headers, samples, given)
	p.Doubts = g.doubts
	p.columns = make([]*Column, len(headers))
	for i := range p.options.Columns {
		c := &p.options.Columns[i]
		if at, ok := g.found[c.Name]; ok {
			p.columns[at] = c
			if tabular.Canonical(p.headers[at]) != tabular.Canonical(c.Name) {
				p.Found[c.Name] = headers[at]
			}
			continue
		}
		for name, header := range given {
			if tabular.Canonical(name) != tabular.Canonical(c.Name) {
				continue
			}
			for at, h := range p.headers {
				if tabular.Canonical(h) == tabular.Canonical(header) {
					p.columns[at] = c
				}
			}
		}
	}
}

// Guessed says what was taken for what.
func (p *Plan) Guessed() []string {
	var pairs []string
	for i := range p.options.Columns {
		if h, ok := p.Found[p.options.Columns[i].Name]; ok {
			pairs = append(pairs, fmt.Sprintf("%s=%q", p.options.Columns[i].Name, strings.TrimSpace(h)))
		}
	}
	return pairs
}

// Missing returns the columns that must be there and are not.
func (p *Plan) Missing() []string {
	has := map[string]bool{}
	for _, c := range p.columns {
		if c != nil {
			has[c.Name] = true
		}
	}
	for _, name := range p.added {
		has[name] = true
	}
	var missing []string
	for i := range p.options.Columns {
		if c := &p.options.Columns[i]; c.Required && !has[c.Name] && !(c.Or != "" && has[c.Or]) {
			name := c.Name
			if c.Or != "" {
				name += " or " + c.Or
			}
			missing = append(missing, name)
		}
	}
	return missing
}

// Wanting says in one message what was taken for what and what is still wanted, "" where all is there.
func (p *Plan) Wanting() string {
	missing := p.Missing()
	if len(missing) == 0 && len(p.Doubts) == 0 {
		return ""
	}
	var parts []string
	if len(missing) > 0 {
		parts = append(parts, "no column for "+strings.Join(missing, ", "))
	}
	parts = append(parts, p.Doubts...)
	if pairs := p.Guessed(); len(pairs) > 0 {
		parts = append(parts, "columns read were "+strings.Join(pairs, ", "))
	}
	if len(missing) > 0 {
		var free []string
		for i, h := range p.headers {
			if p.columns[i] == nil && h != "" && len(free) < 20 {
				free = append(free, fmt.Sprintf("%q", excerpt(h)))
			}
		}
		var maps []string
		for _, name := range missing {
			maps = append(maps, p.mapping(name))
		}
		if len(free) > 0 {
			parts = append(parts, "the file also has "+strings.Join(free, ", "))
		}
		parts = append(parts, "write "+strings.Join(maps, " "))
	}
	return strings.Join(parts, "; ")
}

// mapping is the option that names a missing column, with the header that comes nearest.
func (p *Plan) mapping(missing string) string {
	var free []string
	for i, h := range p.headers {
		if p.columns[i] == nil && h != "" {
			free = append(free, h)
		}
	}
	for name := range strings.SplitSeq(missing, " or ") {
		near := slices.DeleteFunc(slices.Clone(free), func(h string) bool { return tabular.Nearest(name, []string{h}) == "" })
		if len(near) == 1 { // of several none is named: a salvage value is not the value
			return fmt.Sprintf("--map %s=%q", name, near[0])
		}
	}
	var ways []string
	for name := range strings.SplitSeq(missing, " or ") {
		ways = append(ways, fmt.Sprintf("--map %s=\"its header\"", name))
	}
	return strings.Join(ways, " or ")
}

// surveyor reads a file for its plan.
type surveyor struct {
	plan    *Plan
	source  tabular.Loose
	first   []tabular.Record // those looked at for the header, and rows that tell what columns mean
	headAt  int
	ended   bool
	keyAt   int
	last    map[int]string // the cell above, of columns where a blank may mean it
	repeats map[int]bool   // such columns of which two rows below one another have the same
	blanks  map[int]bool   // such columns that have a blank below a cell
	balance map[int]int    // of such columns, blanks less cells
	several map[int]bool   // such columns that have more than one cell
	headed  map[string]bool
	section *section // the rows below a later header
	lost    string   // why the header is not where somebody says

	blankAbove map[int]bool // such columns whose last cell was blank
}

// next reads one record, nil at the end.
func (s *surveyor) next() (*tabular.Record, error) {
	if s.ended {
		return nil, nil
	}
	r, err := s.source.Next()
	if err == io.EOF {
		s.ended = true
		return nil, nil
	}
	return &r, err
}

// top finds the header and the columns.
func (s *surveyor) top() error {
	above := max(mostAbove, s.plan.options.HeaderRow, s.plan.options.Deepest)
	for len(s.first) < above+mostSampled {
		r, err := s.next()
		if err != nil {
			return err
		}
		if r == nil {
			break
		}
		s.first = append(s.first, *r)
		if len(s.first) == above {
			s.findHeader()
			s.source.Width(len(s.first[s.headAt].Cells))
		}
	}
	if len(s.first) < above {
		s.findHeader()
	}
	if len(s.first) == 0 {
		return nil
	}
	head := s.first[s.headAt]
	s.plan.HeaderLine = head.Line
	s.plan.settle(head.Cells, s.samples(head))
	if s.lost != "" {
		s.plan.Doubts = append([]string{s.lost}, s.plan.Doubts...)
	}
	s.keyAt = s.plan.at(s.plan.options.Key)
	s.titles()
	return nil
}

// samples are rows below the header that tell what its columns mean.
func (s *surveyor) samples(head tabular.Record) (samples [][]string) {
	for _, r := range s.first[s.headAt+1:] {
		if s.header(r) && !repeats(r.Cells, head.Cells) {
			break // another header: the cells below it may stand in another order
		}
		if r.Fault == "" && len(r.Cells) <= len(head.Cells) && !repeats(r.Cells, head.Cells) {
			if texts, at := given(r.Cells); len(texts) > 2 && !totals(texts, at, -1) {
				samples = append(samples, r.Cells)
			}
		}
	}
	return samples
}

func (p *Plan) at(name string) int {
	return slices.IndexFunc(p.columns, func(c *Column) bool { return c != nil && c.Name == name })
}

// findHeader picks the record that somebody names, else the one that a saved mapping names, else the one with the most
// known headers among the first.
func (s *surveyor) findHeader() {
	if s.named() {
		return
	}
	best := 1 // one known word makes no header: the first record is it
	for i, r := range s.first[:min(len(s.first), mostAbove)] {
		if n := s.known(r); n > best {
			best, s.headAt = n, i
		}
	}
	for i, r := range s.first[:s.headAt] { // a later header may have more: the rows above it are rows all the same
		if n := s.known(r); 2*n > best && s.header(r) {
			s.headAt = i
			return
		}
	}
}

// named finds the header on the line that somebody or a saved mapping names.
func (s *surveyor) named() bool {
	o := &s.plan.options
	for i, r := range s.first {
		if o.HeaderRow > 0 && r.Line == o.HeaderRow ||
			o.HeaderRow == 0 && o.HeaderAt != nil && r.Fault == "" && o.HeaderAt(r.Line, r.Cells) {
			s.headAt = i
			return true
		}
	}
	if o.HeaderRow > 0 {
		s.lost = fmt.Sprintf("line %d is not the start of a row, so it can't be the header; write the line of the header "+
			"with --header-row", o.HeaderRow)
	}
	return o.HeaderRow > 0
}

// header reports whether a record is mostly names of columns.
func (s *surveyor) header(r tabular.Record) bool {
	texts, _ := given(r.Cells)
	return mostlyNames(s.known(r), len(texts))
}

// known counts the cells of a record that are names of columns.
func (s *surveyor) known(r tabular.Record) int {
	seen := map[string]bool{}
	n := 0
	saved := map[string]string{}
	if s.plan.options.Pick != nil {
		saved = s.plan.options.Pick(r.Cells)
	}
	for _, cell := range r.Cells {
		name := tabular.Canonical(cell)
		if name == "" || seen[name] {
			continue
		}
		seen[name] = true
		is := func(h string) bool { return tabular.Canonical(h) == name }
		known := slices.ContainsFunc(slices.Collect(maps.Values(s.plan.options.Given)), is) ||
			slices.ContainsFunc(slices.Collect(maps.Values(saved)), is)
		if known || s.plan.names[name] || s.plan.names[key(cell)] {
			n++
		}
	}
	return n
}

// titles reads what stands above the header.
func (s *surveyor) titles() {
	above := 0
	for _, r := range s.first[:s.headAt] {
		above++
		texts, _ := given(r.Cells)
		if s.plan.options.Heading == nil || r.Fault != "" || len(texts) == 0 || len(texts) > 3 {
			continue
		}
		if values, ok := s.plan.options.Heading(strings.Join(texts, " "), true); ok {
			for name, v := range values {
				if old, twice := s.plan.titles[name]; twice && old != v {
					v = "" // two titles say two things: neither holds
				}
				s.plan.titles[name] = v
			}
		}
	}
	if above > 0 {
		s.plan.said = append(s.plan.said, fmt.Sprintf("the header is on line %d; %s above it skipped", s.plan.HeaderLine,
			tabular.Count(above, "line")))
	}
	maps.DeleteFunc(s.plan.titles, func(_, v string) bool { return v == "" })
	s.headed = map[string]bool{}
	for _, name := range slices.Sorted(maps.Keys(s.plan.titles)) {
		s.headed[name] = true
		s.plan.said = append(s.plan.said, fmt.Sprintf("%s %s is used for every row without one, from the title", name,
			s.plan.titles[name]))
	}
}

// rest goes through all the rows.
func (s *surveyor) rest() error {
	s.last, s.repeats, s.blanks, s.balance = map[int]string{}, map[int]bool{}, map[int]bool{}, map[int]int{}
	s.several, s.blankAbove = map[int]bool{}, map[int]bool{}
	for _, r := range s.first[min(len(s.first), s.headAt+1):] {
		s.row(r)
	}
	s.first = nil
	for {
		r, err := s.next()
		if r == nil || err != nil {
			return err
		}
		s.row(*r)
	}
}

// row takes note of one row.
func (s *surveyor) row(r tabular.Record) {
	if r.Fault != "" {
		return
	}
	keyAt := s.keyAt
	if s.section != nil {
		keyAt = s.section.keyAt
	}
	if section, is := s.plan.turn(r.Cells, keyAt); is {
		s.section = section
		return
	}
	switch kind, values := s.plan.sortOf(r.Cells, keyAt); kind {
	case aHeading:
		s.plan.heads = true
		for name := range values {
			s.headed[name] = true
		}
	case aRow:
		cells := r.Cells
		if s.section != nil {
			cells = s.section.arrange(cells)
		}
		for i, c := range s.plan.columns {
			if c == nil || i >= len(cells) {
				continue
			}
			cell := strings.TrimSpace(cells[i])
			if cell != "" && s.plan.options.Observe != nil {
				s.plan.options.Observe(c.Name, cell)
			}
			if c.Above != Never {
				s.above(i, cell)
			}
		}
	}
}

// above takes note of whether blank cells of a column may mean the one above.
func (s *surveyor) above(i int, cell string) {
	if s.balance[i]--; cell == "" {
		s.balance[i] += 2
	}
	switch last := s.last[i]; {
	case cell == "" && last != "":
		s.blanks[i] = true
	case cell != "":
		s.repeats[i] = s.repeats[i] || cell == last && !s.blankAbove[i]
		s.several[i] = s.several[i] || last != ""
		s.last[i] = cell
	}
	s.blankAbove[i] = cell == ""
}

// decide settles what the rows together tell.
func (s *surveyor) decide() {
	p := s.plan
	merged := map[int]bool{}
	for _, m := range p.merges {
		if m.Column < len(p.columns) && m.From > p.HeaderLine {
			merged[m.Column] = true
		}
	}
	for i := range p.columns {
		if c := p.columns[i]; c != nil && s.asAbove(i, c.Above, merged[i]) {
			p.Above[c.Name] = true
		}
	}
	for _, name := range slices.Sorted(maps.Keys(s.headed)) {
		if p.at(name) < 0 {
			p.added = append(p.added, name)
		}
	}
}

// Headers are those of the file, and of the columns that only headings have.
func (p *Plan) Headers() []string { return append(append([]string(nil), p.headers...), p.added...) }

// At returns the position of each column that was found, by its canonical name.
func (p *Plan) At() map[string]int {
	at := map[string]int{}
	for i, c := range p.columns {
		if c != nil {
			at[tabular.Canonical(c.Name)] = i
		}
	}
	return at
}

// asAbove reports whether a blank cell of a column may mean the one above it.
func (s *surveyor) asAbove(i int, how Above, merged bool) bool {
	switch {
	case how == Never:
		return false
	case merged:
		return true
	}
	return s.blanks[i] && !s.repeats[i] && (how == Always || s.balance[i] >= 0 && s.several[i])
}

// Count returns how many columns the file has of those that were looked for, and how many it lacks that it must have.
func (p *Plan) Count() (found, missing int) {
	for _, c := range p.columns {
		if c != nil {
			found++
		}
	}
	return found, len(p.Missing())
}
