package lots

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// lotReader turns rows into lots.
type lotReader struct {
	shop    *shop.Shop
	how     Reading
	table   *tabular.Table
	at      []int    // where each of lotColumns is, -1 for nowhere
	extra   []string // columns that the shop's extras name, canonical
	extraAt []int    // where each of these is
	sites   []string // the shop's
	ignored []string // notice of the columns that nobody reads
	site    string   // of every lot, where the list has no such column
	order   typed.Order
	forms   map[string]form // what headers say of the cells below them
	unsaid  map[string]bool
	copied  bool     // the list is copied as it stands
	needed  []string // the columns that it then needs
	said    remarks
	now     time.Time
	names   *names
	votes   [3]int // dates that show an order, by order
	open    int    // dates that could be two
	undated bool   // an age was told by the day of the whole list
}

// reading is one row being read.
type reading struct {
	row      tabular.Place
	lot      *evaluate.Lot
	vat      bool // the row says whether VAT is added
	plus     bool // the guide says so
	sale, by *time.Time
	problems []tabular.Problem
	told     []string
}

// bad takes note of what is wrong with a cell, and reports whether anything is.
func (x *reading) bad(column string, err error) bool {
	if err != nil {
		x.problems = append(x.problems, x.row.At(column, err))
	}
	return err != nil
}

func newLotReader(workshop *shop.Shop, how Reading) *lotReader {
	r := &lotReader{shop: workshop, how: how, now: time.Now(), unsaid: map[string]bool{}}
	if workshop != nil {
		r.sites = workshop.Tariff.Sites()
	}
	return r
}

// begin takes over what was found of the list.
func (r *lotReader) begin(o *opened) {
	r.table, r.order, r.unsaid, r.site = o.Table, o.used.Order, o.above, ""
	r.how.Words = o.used.Words
	r.at = make([]int, len(lotColumns))
	for i, c := range lotColumns {
		r.at[i] = o.At(c.name)
	}
	r.forms = map[string]form{}
	for _, c := range lotColumns {
		if f := formOf(c.name, o.Header(c.name)); f != (form{}) {
			r.forms[c.name] = f
		}
	}
	r.ignored = append(r.ignored, r.formed()...)
}

// extras finds the columns that the shop's extras price, and says which columns
// of the list nobody reads.
func (r *lotReader) extras() {
	for _, x := range r.shop.Extras {
		if name := x.Column; name != "" && !slices.Contains(r.extra, name) {
			r.extra, r.extraAt = append(r.extra, name), append(r.extraAt, r.table.At(name))
		}
	}
	if missing := r.missing(); len(missing) > 0 {
		r.ignored = append(r.ignored, fmt.Sprintf("%s: no column for %s", r.table.File(), strings.Join(missing, ", ")))
	}
	var ignored []string
	for _, header := range r.table.Extra() {
		if name := tabular.Canonical(header); !slices.Contains(r.extra, name) && !slices.Contains(coderColumns, name) {
			ignored = append(ignored, header)
		}
	}
	if r.table.Has("description") && !r.table.Has("damage") {
		r.ignored = append(r.ignored, fmt.Sprintf("%s: no column for damage codes: wreckoner draft %s -o coded.csv writes them "+
			"from the words in %q, and screen reads coded.csv", r.table.File(), quoted(r.table.File()),
			r.table.Header("description")))
	}
	if len(ignored) > 0 {
		r.ignored = append(r.ignored, fmt.Sprintf("%s: columns ignored: %s", r.table.File(), strings.Join(ignored, ", ")))
	}
}

// missing lists the columns that the shop asks for and the list lacks, each with what is taken
// instead.
func (r *lotReader) missing() (missing []string) {
	var absent []string
	for _, name := range r.extra {
		if !slices.Contains([]string{"category", "segment", "site", "vat"}, name) && !r.table.Has(name) {
			absent = append(absent, name)
		}
	}
	if len(absent) > 0 {
		missing = append(missing, strings.Join(absent, ", ")+" (taken as unknown)")
	}
	if !r.table.Has("distance") && r.shop.Tariff.PerMile() {
		missing = append(missing, "distance (0 miles assumed)")
	}
	if !r.table.Has("segment") {
		missing = append(missing, "car type (told by the car's name, else "+DefaultSegment+")")
	}
	return missing
}

// lot reads one row.
func (r *lotReader) lot(row tabular.Place) (*evaluate.Lot, []tabular.Problem, []string) {
	x := &reading{row: row, lot: &evaluate.Lot{File: r.table.File(), Sheet: r.table.Sheet(), Line: row.Line, Site: r.site}}
	for i, c := range lotColumns {
		cell := row.CellAt(r.at[i])
		if len(r.how.Words) > 0 {
			cell = tabular.Cell{Raw: r.answered(c.name, cell.Text()), State: cell.State}
		}
		if !cell.Given() && r.unsaid[c.name] {
			x.bad(c.name, errors.New("is blank; if the cell above is meant for this row too, copy it here; if not, write "+
				"unknown"))
			continue
		}
		c.read(r, x, cell)
	}
	r.nameYear(x.lot)
	r.kind(x)
	r.dates(x)
	r.names.name(x.lot)
	r.guides(x)
	if x.plus && !x.vat {
		x.lot.Plus = true
		r.said.add("VAT comes on top of the hammer price, as the guide price says", x.lot)
	}
	x.lot.Cells = make(map[string]string, len(r.extra))
	for i, column := range r.extra {
		x.lot.Cells[column] = r.extraCell(column, x, row.CellAt(r.extraAt[i]).Text())
	}
	return x.lot, x.problems, x.told
}

// extraCell returns a cell that an extra may price: keys and starts in our words, and yes and no of any column.
func (r *lotReader) extraCell(column string, x *reading, text string) string {
	switch column {
	case "keys":
		return x.lot.Keys
	case "starts":
		return x.lot.Starts
	case "vat":
		if x.plus && !x.vat {
			return "plus"
		}
	case "segment":
		return x.lot.Segment
	case "category":
		return x.lot.Category
	case "site":
		return x.lot.Site
	}
	switch wordKey(text) {
	case "y", "yes", "true", "✓", "✔":
		return "yes"
	case "n", "no", "false", "✗", "✘":
		return "no"
	case "?", "n/k", "not known":
		return "unknown"
	}
	return text
}

// answered returns what somebody has said that a cell's words mean in a column, else the cell.
func (r *lotReader) answered(column, text string) string {
	if meant, ok := r.how.Words[column][wordKey(text)]; ok && text != "" {
		return meant
	}
	return text
}

// tell takes note of how a cell was read that is written otherwise.
func (r *lotReader) tell(x *reading, column, text, read string) {
	if r.how.Tell && !strings.EqualFold(strings.TrimSpace(text), read) {
		x.told = append(x.told, fmt.Sprintf("%s: %q is read as %s", r.table.Header(column), text, read))
	}
}

func (r *lotReader) number(x *reading, c tabular.Cell) {
	if x.lot.Number = c.Text(); x.lot.Number == "" {
		x.bad("lot", errors.New("is blank; every lot needs its number"))
	}
}

// notRead says that a cell that only describes the car cannot be read.
func (r *lotReader) notRead(x *reading, column string, err error) {
	p := x.row.At(column, err)
	r.said.line(p.Error() + "; the lot is read without it")
}

func (r *lotReader) year(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	n, err := typed.ParseYear(c.Text(), r.now)
	if err != nil {
		r.notRead(x, "year", err)
		return
	}
	x.lot.Year = n
	r.tell(x, "year", c.Text(), fmt.Sprint(n))
}

func (r *lotReader) odometer(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	f := r.form("odometer")
	d, err := typed.ParseDistance(c.Text(), f.unit == kilometres)
	switch {
	case err != nil || d.None:
	case d.Unsaid && f.unit == eitherUnit:
		err = fmt.Errorf("%q could be miles or kilometres; write %s miles or %s km", c.Text(), c.Text(), c.Text())
	case d.Bare && d.Miles > 0 && d.Miles < leastMiles && f.thousands:
		d.Miles *= 1000
	case d.Bare && d.Miles > 0 && d.Miles < leastMiles:
		err = fmt.Errorf("%q may be in thousands; write %sk or %s miles", c.Text(), c.Text(), c.Text())
	}
	if err != nil {
		r.notRead(x, "odometer", err)
		return
	}
	if x.lot.Odometer = d.Miles; d.Kilometres {
		r.said.add("kilometres on the clock are converted to miles", x.lot)
	}
	if !d.None {
		r.tell(x, "odometer", c.Text(), fmt.Sprint(d.Miles))
	}
}

// leastMiles is below what a bare number on the clock was mostly typed in thousands.
const leastMiles = 1000

// inWords reports whether a cell of damage is a listing's own words, at least three of them that name something of a
// car, and no code that is mistyped.
func inWords(text string) bool {
	if len(strings.Fields(text)) < 3 || looksCoded(text) {
		return false
	}
	return zoneLexicon().Read(text).Code.Coded()
}

// quoted is a file's name as it is typed on a command line.
func quoted(file string) string {
	if strings.ContainsAny(file, " '\"&()") {
		return strconv.Quote(file)
	}
	return file
}

func (r *lotReader) damage(x *reading, c tabular.Cell) {
	code, err := parseCode(c.Text())
	if err != nil && inWords(c.Text()) {
		p := x.row.At("damage", fmt.Errorf("has words and not codes; wreckoner draft %s --map description=%q -o coded.csv "+
			"writes codes from them, and screen reads coded.csv", quoted(r.table.File()), r.table.Header("damage")))
		p.Shared = true
		x.problems = append(x.problems, p)
		return
	}
	if !x.bad("damage", err) {
		x.lot.Code = code
		r.tell(x, "damage", c.Text(), code.String())
	}
}

// quotes reads what was quoted for items of the code, which was read before.
func (r *lotReader) quotes(x *reading, c tabular.Cell) {
	if !c.Given() || !x.lot.Code.Coded() && len(x.problems) > 0 { // what is wrong with the code is said already
		return
	}
	quotes, err := evaluate.ParseQuotes(c.Text(), x.lot.Code)
	if !x.bad("quotes", err) {
		x.lot.Quotes = quotes
	}
}

func (r *lotReader) codedFrom(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	from, err := c.Word(string(evaluate.FromPhotos), string(evaluate.FromWords), string(evaluate.FromSeen))
	if !x.bad("coded_from", err) {
		x.lot.CodedFrom = evaluate.Coded(from)
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

// leastPrice is what a car's value or guide price is at least: below it, it was mostly typed in thousands.
const leastPrice = 50_00

// price reads an amount that is a car's, from one of the list's columns.
func (r *lotReader) price(column, text string) (typed.Amount, error) {
	if strings.TrimSpace(text) == "" {
		return typed.Amount{}, errors.New("is blank; write an amount such as 1200 or 1,200.00")
	}
	a, err := typed.ParseAmount(text, r.sign())
	if err == nil && r.form(column).thousands {
		a, err = scaled(text, a)
	}
	switch {
	case err != nil || a.None:
		return a, err
	case a.Low <= 0:
		return a, fmt.Errorf("%q is not above 0; write an amount such as 1200 or 1,200.00", text)
	case a.Low < leastPrice:
		return a, fmt.Errorf("%q is below 50; if it is in thousands, write %s or %sk", text, money.Group(int64(a.Low)*10),
			trimZeros(a.Low))
	}
	return a, nil
}

// trimZeros prints pounds without the decimals that are nothing.
func trimZeros(p money.Pence) string {
	return strings.TrimSuffix(strings.TrimRight(strings.TrimRight(p.String(), "0"), "."), ".")
}

func (r *lotReader) value(x *reading, c tabular.Cell) {
	if r.how.Appraised && !c.Given() {
		return
	}
	a, err := r.price("value", c.Text())
	switch {
	case err != nil:
	case a.None:
		err = fmt.Errorf("%q is not an amount; write what the car would fetch undamaged", c.Text())
	case a.Range():
		err = fmt.Errorf("%q is a range; write one value, such as %s", c.Text(), a.Pence)
	case a.PlusVAT:
		err = fmt.Errorf("%q: write what a buyer pays: %s, or %s with VAT", c.Text(), a.Pence,
			a.Pence+r.shop.VATRate.Of(a.Pence))
	}
	if !x.bad("value", err) {
		x.lot.Value = a.Pence
	}
}

func (r *lotReader) guide(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	a, err := r.price("guide", c.Text())
	if err != nil {
		x.bad("guide", fmt.Errorf("%w, or leave it blank", err))
		return
	}
	if a.WithVAT {
		x.bad("guide", withVAT(c.Text(), a, r.shop))
		return
	}
	x.lot.Guide, x.plus = a.Pence, a.PlusVAT
	if a.Range() {
		r.said.add("a guide price that is a range is read as its middle", x.lot)
		r.tell(x, "guide", c.Text(), a.Pence.String())
	}
}

// withVAT asks about a price at a sale that has VAT within.
func withVAT(text string, a typed.Amount, workshop *shop.Shop) error {
	rate := workshop.VATRate.Of(100_00) // pence on 100 pounds
	return fmt.Errorf("%q: prices at the sale are without VAT; write %s with plus as vat if VAT comes on the hammer price, "+
		"or %s if there is none", text, whole(money.Divide(int64(a.Pence)*100_00, 100_00+int64(rate))), whole(a.Pence))
}

func (r *lotReader) vat(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	vat, ok := choice("vat", c.Text())
	if !ok {
		x.bad("vat", notChoice(c.Text(), "vat", "margin", "plus"))
		return
	}
	x.vat, x.lot.Plus = true, vat == "plus"
	r.tell(x, "vat", c.Text(), vat)
}

// notChoice says that a cell holds none of a column's choices, and how to answer for the whole list.
func notChoice(text, column string, choices ...string) error {
	_, err := tabular.NewCell(text).Word(choices...)
	if err == nil {
		return nil
	}
	return fmt.Errorf("%w, or say what it means for the whole list: --read '%s:%s=%s'", err, column, text,
		choices[len(choices)-1])
}

func (r *lotReader) keys(x *reading, c tabular.Cell)   { x.lot.Keys = r.yesNo(x, "keys", c) }
func (r *lotReader) starts(x *reading, c tabular.Cell) { x.lot.Starts = r.yesNo(x, "starts", c) }

// yesNo reads yes, no or unknown in people's words; "" where the list has no such column.
func (r *lotReader) yesNo(x *reading, column string, c tabular.Cell) string {
	switch c.State {
	case tabular.Absent:
		return ""
	case tabular.Blank:
		return "unknown"
	}
	read, ok := choice(column, c.Text())
	if ok && r.form(column).opposite {
		read = turned(c.Text(), read)
		ok = read != ""
	}
	if !ok {
		x.bad(column, notChoice(c.Text(), column, "yes", "no", "unknown"))
		return ""
	}
	r.tell(x, column, c.Text(), read)
	return read
}
