package layout

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/tabular"
)

// sortOf says what a row below the header is. Of a heading it returns what that says.
func (p *Plan) sortOf(cells []string, keyAt int) (sort, map[string]string) {
	if plainRow(cells, keyAt) && !repeats(cells, p.headers) {
		return aRow, nil
	}
	texts, at := given(cells)
	switch {
	case len(texts) == 0:
		return aFoot, nil
	case repeats(cells, p.headers):
		return aHeader, nil
	case totals(texts, at, keyAt):
		return aTotal, nil
	case len(texts) > 2 || len(p.headers) < 4:
		return aRow, nil
	}
	return p.lone(texts, at, keyAt)
}

// lone says what a row of one or two cells is.
func (p *Plan) lone(texts []string, at []int, keyAt int) (sort, map[string]string) {
	text := strings.Join(texts, " ")
	if len(texts) == 1 && footForm.MatchString(plainCell(text)) {
		return aFoot, nil
	}
	if p.options.Heading != nil && !(at[0] == keyAt && lotLike(texts[0])) {
		if values, ok := p.options.Heading(text, false); ok {
			return aHeading, values
		}
	}
	if len(texts) == 1 && (at[0] != keyAt || !lotLike(text)) && !figure(text) && len([]rune(text)) > 1 {
		return aText, nil
	}
	return aRow, nil
}

// Arranged is a source whose first record is the header and whose others are the rows, each with a cell for every
// header: what stands between and above them is passed over, counted, and holds where it is a heading.
type Arranged struct {
	tabular.Loose
	plan    *Plan
	mender  mender
	keyAt   int
	started bool
	context map[string]string
	merged  map[int][]tabular.Merge // by column
	top     map[int]string          // what the merged cell above says
	sums    map[int][2]float64

	passed   map[sort]int
	texts    []string
	notes    []string
	headings int
	filled   int
	dittos   int
	above    []string // the cells of the row above
	section  *section // the rows below a later header
	changed  bool     // the row has cells that are not as they were
}

// Arrange returns the rows of the file that a plan was made of, opened anew.
func (p *Plan) Arrange(source tabular.Loose) *Arranged {
	source.Loosen()
	a := &Arranged{Loose: source, plan: p, keyAt: p.at(p.options.Key), passed: map[sort]int{}, top: map[int]string{},
		merged: map[int][]tabular.Merge{}}
	a.context = map[string]string{}
	for k, v := range p.titles {
		a.context[k] = v
	}
	_, delimited := source.(interface{ Delimiter() rune })
	a.mender = mender{columns: p.columns, comma: ",", sheet: !delimited}
	for _, m := range p.merges {
		a.merged[m.Column] = append(a.merged[m.Column], m)
	}
	for _, merges := range a.merged {
		slices.SortFunc(merges, func(x, y tabular.Merge) int { return x.From - y.From })
	}
	return a
}

// Next returns the header, and then the rows.
func (a *Arranged) Next() (tabular.Record, error) {
	for {
		r, err := a.Loose.Next()
		if err != nil {
			return r, err
		}
		if !a.started {
			if r.Line < a.plan.HeaderLine {
				continue
			}
			a.started = true
			if d, ok := a.Loose.(interface{ Delimiter() rune }); ok {
				a.mender.comma = string(d.Delimiter())
			}
			a.Loose.Width(len(r.Cells))
			return a.header(r), nil
		}
		if row, ok := a.row(r); ok {
			return row, nil
		}
	}
}

// header is the record of the header, with the columns that only headings have.
func (a *Arranged) header(r tabular.Record) tabular.Record {
	if r.Fault == "" {
		r.Cells = append(append([]string(nil), r.Cells...), a.plan.added...)
	}
	for _, name := range a.plan.added {
		r.Raw += a.mender.comma + name
	}
	return r
}

// row returns a row with a cell for each header; ok is false for what is none.
func (a *Arranged) row(r tabular.Record) (tabular.Record, bool) {
	if r.Fault != "" {
		a.above = nil
		return r, true
	}
	a.changed = false
	a.fill(r.Line, &r)
	if a.turns(&r) {
		return r, false
	}
	switch kind, values := a.plan.sortOf(r.Cells, a.keyHere()); kind {
	case aHeading:
		a.headings++
		a.above = nil
		for k, v := range values {
			a.context[k] = v
		}
		return r, false
	case aText:
		a.text(r)
		return r, false
	case aHeader, aTotal, aFoot:
		a.passed[kind]++
		return r, false
	}
	if a.section == nil && a.summed(r) {
		return r, false
	}
	cells, what, fault := a.mender.mend(r.Cells)
	if fault != "" {
		r.Fault, r.Found, r.Cells, a.above = fault, excerpt(r.Raw), nil, nil
		return r, true
	}
	if what != "" {
		a.note(fmt.Sprintf("line %d: %s", r.Line, what))
	}
	if a.section != nil {
		cells, a.changed = a.section.arrange(cells), true
		r.Cells = cells
		if a.summed(r) {
			return r, false
		}
	}
	r.Cells = a.hold(a.asAbove(cells))
	if a.changed { // so that the row says the same when it stands alone
		r.Raw = tabular.Line(r.Cells, []rune(a.mender.comma)[0])
	}
	return r, true
}

// keyHere is where the key is in the rows of the file that are being read.
func (a *Arranged) keyHere() int {
	if a.section != nil {
		return a.section.keyAt
	}
	return a.keyAt
}

// turns reports whether a row is a header again; the rows below it are then read by it.
func (a *Arranged) turns(r *tabular.Record) bool {
	s, is := a.plan.turn(r.Cells, a.keyHere())
	if !is {
		return false
	}
	if a.section, a.above, a.mender.columns = s, nil, a.plan.columns; s != nil {
		a.mender.columns = s.columns
		a.note(s.said(r.Line))
	}
	a.passed[aHeader]++
	return true
}

// mostNotes is how many single lines are named in notices.
const mostNotes = 20

func (a *Arranged) note(text string) {
	if len(a.notes) <= mostNotes {
		a.notes = append(a.notes, text)
	}
}

// text takes note of a line of text that is no row. Where headings hold for rows, it may be one that nobody knows: the
// rows under it are then asked about.
func (a *Arranged) text(r tabular.Record) {
	texts, _ := given(r.Cells)
	text := strings.Join(texts, " ")
	if len(a.texts) <= mostNotes {
		a.texts = append(a.texts, fmt.Sprintf("line %d %q", r.Line, excerpt(text)))
	}
	if a.plan.heads && a.plan.options.Heading != nil {
		for name := range a.context {
			if name == siteColumn {
				a.context[name] = text
			}
		}
	}
}

// siteColumn is the column of headings whose words nobody knows.
const siteColumn = "site"

// hold adds what headings say: in blank cells of their columns, or in columns of their own.
func (a *Arranged) hold(cells []string) []string {
	if len(a.context) == 0 && len(a.plan.added) == 0 {
		return cells
	}
	cells, a.changed = append([]string(nil), cells...), true
	for name, value := range a.context {
		if at := a.plan.at(name); at >= 0 && strings.TrimSpace(cells[at]) == "" {
			cells[at] = value
		}
	}
	for _, name := range a.plan.added {
		cells = append(cells, a.context[name])
	}
	return cells
}

// fill writes what a merged cell says into the rows that it holds for.
func (a *Arranged) fill(line int, r *tabular.Record) {
	for column, merges := range a.merged {
		for len(merges) > 0 && merges[0].To < line {
			merges = merges[1:]
		}
		a.merged[column] = merges
		if len(merges) == 0 || line < merges[0].From {
			continue
		}
		if line == merges[0].From {
			a.top[column] = ""
			if column < len(r.Cells) {
				a.top[column] = r.Cells[column]
			}
			continue
		}
		if a.top[column] == "" {
			continue
		}
		for len(r.Cells) <= column {
			r.Cells = append(r.Cells, "")
		}
		if strings.TrimSpace(r.Cells[column]) == "" {
			r.Cells[column], a.changed = a.top[column], true
			a.filled++
		}
	}
}

// Notices says what was passed over and what holds for the rows below it.
func (a *Arranged) Notices() []string {
	file, _ := a.Place()
	all := a.Loose.Notices()
	say := func(format string, args ...any) { all = append(all, file+": "+fmt.Sprintf(format, args...)) }
	for _, s := range a.plan.said {
		say("%s", s)
	}
	var passed []string
	for _, p := range []struct {
		sort
		one, many string
	}{
		{aHeader, "repeated header", "repeated headers"}, {aTotal, "row of totals", "rows of totals"},
		{aFoot, "page foot", "page feet"},
	} {
		if n := a.passed[p.sort]; n > 0 {
			passed = append(passed, tabular.Counted(n, p.one, p.many))
		}
	}
	if len(passed) > 0 {
		say("skipped: %s", strings.Join(passed, ", "))
	}
	if n := len(a.texts); n > 0 {
		more := ""
		if n > mostNotes {
			more = " and more"
		}
		say("skipped as text: %s%s", strings.Join(a.texts[:min(n, mostNotes)], ", "), more)
	}
	if a.headings > 0 {
		say("%s between the rows, each used for the rows below it", tabular.Count(a.headings, "heading"))
	}
	if a.filled > 0 {
		say("merged cells count for all their rows: %s filled", tabular.Count(a.filled, "cell"))
	}
	if a.dittos > 0 {
		say("ditto marks are read as the cell above: %s", tabular.Count(a.dittos, "cell"))
	}
	for i, n := range a.notes {
		if i == mostNotes {
			say("and more like these")
			break
		}
		say("%s", n)
	}
	return all
}
