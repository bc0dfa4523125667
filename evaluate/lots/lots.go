// Package lots reads lot lists: the good rows, and what is wrong with the others; and it
// writes lists again with damage codes drafted from their descriptions.
package lots

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A List is a lot list as read: the good rows, and what is wrong with the rest.
type List struct {
	Lots     []*evaluate.Lot
	Problems []tabular.Problem
	Notices  []string
	// Used is what found the columns that are called otherwise, to be saved for
	// the next list of the same site.
	Used Mapping

	torn   bool // a row cannot be read
	source tabular.Source
}

// lotRow is one row of a lot list.
type lotRow struct {
	Lot, Make, Model, Year, Odometer, Segment, Category, Damage, Description, Value,
	Guide, Site, Distance, VAT, Keys, Starts, Note, SaleDate, CollectBy, CollectDays tabular.Cell
}

// cells returns the cells of lotColumns, in that order.
func (v *lotRow) cells() [20]*tabular.Cell {
	return [...]*tabular.Cell{
		&v.Lot, &v.Make, &v.Model, &v.Year, &v.Odometer, &v.Segment,
		&v.Category, &v.Damage, &v.Description, &v.Value, &v.Guide,
		&v.Site, &v.Distance, &v.VAT, &v.Keys, &v.Starts, &v.Note,
		&v.SaleDate, &v.CollectBy, &v.CollectDays,
	}
}

// lotColumns are the columns of a lot list.
var lotColumns = []tabular.Column{
	{Name: "lot", Required: true}, {Name: "make"}, {Name: "model"}, {Name: "year"}, {Name: "odometer"}, {Name: "segment"},
	{Name: "category", Required: true}, {Name: "damage", Required: true, Or: "description"}, {Name: "description"}, {Name: "value", Required: true}, {Name: "guide"},
	{Name: "site"}, {Name: "distance"}, {Name: "vat"}, {Name: "keys"}, {Name: "starts"}, {Name: "note"},
	{Name: "sale_date"}, {Name: "collect_by"}, {Name: "collect_days"},
}

// ReadLots reads a lot list for a shop. columns names columns that the list
// calls otherwise. Rows that cannot be read become problems; the error is for a
// list of which nothing can be read.
func ReadLots(source tabular.Source, workshop *shop.Shop, columns map[string]string) (*List, error) {
	return ReadList(source, workshop, Reading{Map: columns})
}

// MostLots and MostText are how many rows of one list are held in memory, and how
// many bytes of them: far above any sale, and what keeps a file that is no sale
// from filling the memory. MostRanked is how many are ranked by those who hold
// no more than a key of each.
const (
	MostLots   = 100_000
	MostText   = 512 << 20
	MostRanked = 10_000_000
)

// ReadList is ReadLots with saved mappings and a site for the whole list.
func ReadList(source tabular.Source, workshop *shop.Shop, how Reading) (*List, error) {
	lots, err := OpenLots(source, workshop, how)
	if err != nil {
		return nil, err
	}
	lots.reader.numbers = map[string]int{}
	list := &List{source: source, Used: lots.Used}
	rows, size := 0, 0
	for entry, err := range lots.All() {
		if err != nil {
			return nil, err
		}
		rows++
		if size += len(entry.Raw); rows > MostLots || size > MostText {
			return nil, lots.Beyond(entry, "a list of more than %s is not held at once; split it. Only screen reads more, without --explain", Most())
		}
		if len(entry.Problems) > 0 {
			list.torn = list.torn || entry.Lot == nil
			list.Problems = append(list.Problems, entry.Problems...)
			continue
		}
		list.Lots = append(list.Lots, entry.Lot)
	}
	list.Notices = lots.Notices()
	return list, nil
}

// Most says in words how much of a list is held in memory.
func Most() string {
	return fmt.Sprintf("%s lots or %d MiB", money.Group(MostLots), MostText>>20)
}

// Lots are the rows of a lot list, one after the other, in bounded memory.
type Lots struct {
	// Used is what found the columns.
	Used Mapping

	source  tabular.Source
	table   *tabular.Table
	reader  *lotReader
	notices []string
	numbers numbers
}

// A ListRow is one row of a lot list: a lot, or what is wrong with it. Where the
// row as such cannot be read, Lot is nil.
type ListRow struct {
	Lot      *evaluate.Lot
	Line     int
	Raw      string
	Problems []tabular.Problem
}

// OpenLots reads the header of a lot list.
func OpenLots(source tabular.Source, workshop *shop.Shop, how Reading) (*Lots, error) {
	o, err := how.open(source, lotColumns)
	if err != nil {
		return nil, err
	}
	l := &Lots{Used: o.used, source: source, table: o.Table, reader: newLotReader(workshop, o.Table), notices: o.notices}
	l.reader.appraised = how.Appraised
	if o.site != "" {
		if l.reader.site, err = l.reader.siteNamed(o.site); err != nil {
			return nil, fmt.Errorf("%s: the site of the whole list: %w", tabular.Sanitise(l.table.File()), err)
		}
	}
	return l, nil
}

// Notices says what was guessed or passed over, complete after the last row.
func (l *Lots) Notices() []string {
	return slices.Concat(l.notices, l.table.Notices(), l.reader.ignored)
}

// All yields the rows. Each is read by itself: that a lot number stands twice
// is not seen here, but by Unique. An error is the last thing that is yielded.
func (l *Lots) All() iter.Seq2[ListRow, error] {
	l.reader.extras()
	return func(yield func(ListRow, error) bool) {
		for row, err := range tabular.Read[struct{}](l.table) {
			if err != nil {
				yield(ListRow{}, err)
				return
			}
			entry := ListRow{Line: row.Line, Raw: row.Raw}
			if row.Problem != nil {
				entry.Problems = []tabular.Problem{*row.Problem}
			} else {
				entry.Lot, entry.Problems = l.reader.lot(row.Place)
			}
			if !yield(entry, nil) {
				return
			}
		}
	}
}

// Reject makes a lot that was read a problem after all, as it cannot be judged.
func (l *List) Reject(lot *evaluate.Lot, err error) {
	l.Problems = append(l.Problems, Unjudged(lot, err))
}

// Unjudged is the problem of a lot that was read and cannot be judged.
func Unjudged(lot *evaluate.Lot, err error) tabular.Problem {
	p := tabular.Problem{File: lot.File, Sheet: lot.Sheet, Line: lot.Line, Column: evaluate.FaultColumn(err), Message: err.Error()}
	if p.Column == "damage" {
		p.Text = lot.Code.String()
	}
	return p
}

// Find returns the lot of that number.
func (l *List) Find(number string) (*evaluate.Lot, error) {
	for _, lot := range l.Lots {
		if strings.EqualFold(lot.Number, strings.TrimSpace(number)) {
			return lot, nil
		}
	}
	var names []string
	for _, lot := range l.Lots {
		names = append(names, lot.Number)
	}
	hint := "the list has none that can be read"
	if near := tabular.Nearest(number, names); near != "" {
		hint = "did you mean " + near + "?"
	} else if len(names) > 0 {
		hint = fmt.Sprintf("the list has %d, from %s to %s", len(names), names[0], names[len(names)-1])
	}
	return nil, fmt.Errorf("there is no lot %q; %s", number, hint)
}

// Mendable says what a copy of the list could put right without touching a value,
// such as its encoding; nil where there is nothing, or where a row that cannot be
// read would be lost.
func (l *List) Mendable() []string {
	if l.torn {
		return nil
	}
	var what []string
	if c, ok := l.source.(*tabular.CSV); ok {
		if !c.UTF8() {
			what = append(what, "in UTF-8")
		}
		if c.Delimiter() != ',' {
			what = append(what, "with commas")
		}
	}
	if len(l.Used.Columns) > 0 {
		what = append(what, "under our column names")
	}
	return what
}

// lotReader turns rows into lots.
type lotReader struct {
	shop    *shop.Shop
	table   *tabular.Table
	at      []int          // where each of lotColumns is, -1 for nowhere
	columns []string       // those that the shop's extras name, canonical
	cells   []int          // where each of these is
	sites   []string       // the shop's
	numbers map[string]int // line on which a lot number stands; nil: not watched
	ignored []string       // notice of the columns that nobody reads
	site    string         // of every lot, where the list has no such column
	// appraised says that evidence can give a lot without a value one.
	appraised bool
}

func newLotReader(workshop *shop.Shop, t *tabular.Table) *lotReader {
	r := &lotReader{shop: workshop, table: t, sites: workshop.Tariff.Sites()}
	for _, c := range lotColumns {
		r.at = append(r.at, t.At(c.Name))
	}
	return r
}

// extras finds the columns that the shop's extras price, and says which columns
// of the list nobody reads.
func (r *lotReader) extras() {
	for _, x := range r.shop.Extras {
		if name := x.Column; name != "" && !slices.Contains(r.columns, name) {
			r.columns, r.cells = append(r.columns, name), append(r.cells, r.table.At(name))
		}
	}
	var ignored []string
	for _, header := range r.table.Extra() {
		if name := tabular.Canonical(header); !slices.Contains(r.columns, name) && !slices.Contains(coderColumns, name) {
			ignored = append(ignored, header)
		}
	}
	var absent []string
	for _, name := range r.columns {
		if !slices.Contains([]string{"category", "segment", "site", "vat"}, name) && !r.table.Has(name) {
			absent = append(absent, name)
		}
	}
	var missing []string
	if len(absent) > 0 {
		missing = append(missing, strings.Join(absent, ", ")+" (taken as unknown)")
	}
	if !r.table.Has("distance") && r.shop.Tariff.PerMile() {
		missing = append(missing, "distance (0 miles)")
	}
	if !r.table.Has("segment") {
		missing = append(missing, "segment ("+DefaultSegment+")")
	}
	if len(missing) > 0 {
		r.ignored = append(r.ignored, fmt.Sprintf("%s: no column for %s", r.table.File(), strings.Join(missing, ", ")))
	}
	if len(ignored) > 0 {
		r.ignored = append(r.ignored, fmt.Sprintf("%s: not read: %s", r.table.File(), strings.Join(ignored, ", ")))
	}
}

func (r *lotReader) lot(row tabular.Place) (*evaluate.Lot, []tabular.Problem) {
	v := &lotRow{}
	for i, cell := range v.cells() {
		*cell = row.CellAt(r.at[i])
	}
	var problems []tabular.Problem
	bad := func(column string, err error) bool {
		if err != nil {
			problems = append(problems, row.At(column, err))
		}
		return err != nil
	}
	lot := &evaluate.Lot{
		Number: v.Lot.Text(), Make: v.Make.Text(), Model: v.Model.Text(), Description: v.Description.Text(), Note: v.Note.Text(),
		CollectBy: v.CollectBy.Text(), File: r.table.File(), Sheet: r.table.Sheet(), Line: row.Line,
	}
	if lot.Number == "" {
		bad("lot", errors.New("is blank; every lot needs its number"))
	} else if r.numbers != nil {
		number := strings.ToLower(lot.Number)
		if line, dup := r.numbers[number]; dup {
			bad("lot", twice(lot.Number, line))
		} else {
			r.numbers[number] = row.Line
		}
	}
	var err error
	if v.Year.Given() {
		lot.Year, err = v.Year.Int(1900, 2100)
		bad("year", err)
	}
	if v.Odometer.Given() {
		lot.Odometer, err = v.Odometer.Int(0, 9_999_999)
		bad("odometer", err)
	}
	r.kind(lot, v, bad)
	if lot.Code, err = damage.Parse(v.Damage.Text()); err != nil {
		bad("damage", err)
	}
	r.prices(lot, v, bad)
	r.place(lot, v, bad)
	r.dates(lot, v, bad)
	for _, x := range []struct {
		column string
		tabular.Cell
		into *prices.Answer
	}{{"keys", v.Keys, &lot.Keys}, {"starts", v.Starts, &lot.Starts}} {
		if x.Given() {
			word, err := x.Word("yes", "no", "unknown")
			bad(x.column, err)
			*x.into = answers[word]
		}
	}
	lot.Cells = make(map[string]string, len(r.columns))
	for i, column := range r.columns {
		lot.Cells[column] = row.CellAt(r.cells[i]).Text()
	}
	return lot, problems
}

// answers are what a column of yes or no may say.
var answers = map[string]prices.Answer{"yes": prices.Yes, "no": prices.No}

// DefaultSegment is that of a lot that names none.
const DefaultSegment = "family"

// kind reads segment and category.
func (r *lotReader) kind(lot *evaluate.Lot, v *lotRow, bad func(string, error) bool) {
	segment := v.Segment.Text()
	if segment == "" {
		segment = DefaultSegment
	}
	if i, ok := r.shop.Segment(segment); ok {
		lot.Segment = r.shop.Segments[i].Name
	} else {
		var names []string
		for _, s := range r.shop.Segments {
			names = append(names, s.Name)
		}
		if !v.Segment.Given() {
			bad("segment", fmt.Errorf("is blank, and the shop has no segment %q to serve; write one of %s", segment, strings.Join(names, ", ")))
		} else {
			bad("segment", tabular.Unknown("segment", segment, names))
		}
	}
	category := v.Category.Text()
	switch i, ok := r.shop.Category(category, lot.Segment); {
	case category == "":
		bad("category", errors.New(`is blank; write the insurer's marker, or unrecorded where there is none`))
	case ok:
		lot.Category = r.shop.Categories[i].Name
	case r.shop.HasCategory(category) && lot.Segment != "":
		bad("category", fmt.Errorf("the shop's category %q has no row for the segment %s; add one to categories.csv, or one with segment *", category, lot.Segment))
	case !r.shop.HasCategory(category):
		var names []string
		for _, c := range r.shop.Categories {
			if !slices.Contains(names, c.Name) {
				names = append(names, c.Name)
			}
		}
		bad("category", tabular.Unknown("category", category, names))
	}
}

// Price reads an amount of money above 0.
func Price(text string) (money.Pence, error) {
	p, err := money.Parse(text)
	switch {
	case strings.TrimSpace(text) == "":
		return 0, errors.New("is blank; write an amount such as 1200 or 1,200.00")
	case err != nil:
		return 0, err
	case p <= 0:
		return 0, fmt.Errorf("%q is not above 0; write an amount such as 1200 or 1,200.00", text)
	}
	return p, nil
}

func (r *lotReader) prices(lot *evaluate.Lot, v *lotRow, bad func(string, error) bool) {
	var err error
	if v.Value.Given() || !r.appraised {
		lot.Value, err = Price(v.Value.Text())
		bad("value", err)
	}
	if v.Guide.Given() {
		if lot.Guide, err = Price(v.Guide.Text()); err != nil {
			bad("guide", fmt.Errorf("%w, or leave it blank", err))
		}
	}
	if v.VAT.Given() {
		vat, err := v.VAT.Word("margin", "plus")
		bad("vat", err)
		lot.Plus = vat == "plus"
	}
}

func (r *lotReader) place(lot *evaluate.Lot, v *lotRow, bad func(string, error) bool) {
	var err error
	if v.Distance.Given() {
		lot.Miles, err = v.Distance.Number(0, 20000)
		bad("distance", err)
	}
	site := v.Site.Text()
	if site == "" {
		lot.Site = r.site
		return
	}
	lot.Site, err = r.siteNamed(site)
	bad("site", err)
}

// siteNamed returns the site as the shop spells it, or that the car is bought at none.
func (r *lotReader) siteNamed(name string) (string, error) {
	if strings.EqualFold(strings.TrimSpace(name), deal.Private) && !slices.ContainsFunc(r.sites, func(s string) bool { return strings.EqualFold(s, deal.Private) }) {
		return deal.Private, nil
	}
	i := slices.IndexFunc(r.sites, func(s string) bool { return strings.EqualFold(s, strings.TrimSpace(name)) })
	if i < 0 {
		return "", tabular.Unknown("site", name, r.sites)
	}
	return r.sites[i], nil
}

// dates reads when the lot is to be collected. With the day of the sale, the
// last day of free storage says how many days are free.
func (r *lotReader) dates(lot *evaluate.Lot, v *lotRow, bad func(string, error) bool) {
	if v.CollectDays.Given() {
		days, err := v.CollectDays.Number(0, 3650)
		if !bad("collect_days", err) {
			lot.CollectDays = &days
		}
	}
	day := func(column string, c tabular.Cell) (time.Time, bool) {
		if !c.Given() {
			return time.Time{}, false
		}
		t, err := c.Date()
		return t, !bad(column, err)
	}
	sale, ok := day("sale_date", v.SaleDate)
	lot.SaleDate = sale
	by, also := day("collect_by", v.CollectBy)
	if !ok || !also {
		return
	}
	free := by.Sub(sale).Hours() / 24
	if free < 0 {
		bad("collect_by", fmt.Errorf("%s is before the sale on %s", v.CollectBy.Text(), v.SaleDate.Text()))
		return
	}
	lot.FreeDays = &free
}
