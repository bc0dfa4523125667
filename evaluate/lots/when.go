package lots

import (
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"wreckoner/evaluate/deal"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/typed"
)

// distance reads miles; they are priced, so that what can't be read is asked about.
func (r *lotReader) distance(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	miles, err := c.Number(0, 20000)
	if err != nil || r.form("distance").unit == kilometres {
		d, typedErr := typed.ParseDistance(c.Text(), r.form("distance").unit == kilometres)
		switch {
		case typedErr != nil || d.None:
		case d.Miles <= 20000:
			miles, err = float64(d.Miles), nil
			r.tell(x, "distance", c.Text(), fmt.Sprintf("%d miles", d.Miles))
		}
	}
	if !x.bad("distance", err) {
		x.lot.Miles = miles
	}
}

func (r *lotReader) place(x *reading, c tabular.Cell) {
	site := c.Text()
	if site == "" || slices.Contains([]string{"unknown", "n/k", "not known", "?"}, wordKey(site)) {
		return
	}
	named, err := r.siteNamed(site)
	if err != nil && tabular.Nearest(site, r.sites) == "" {
		// No slip of the pen, but a site that the workshop has not bought at yet.
		p := x.row.At("site", r.withoutFees(site))
		p.Shared = true
		x.problems = append(x.problems, p)
		return
	}
	if !x.bad("site", err) {
		x.lot.Site = named
	}
}

// withoutFees says what to do about a site that the workshop has no fees for.
func (r *lotReader) withoutFees(site string) error {
	for _, s := range r.shop.Sources {
		if filepath.Base(s.File) == shop.FeesFile && !s.BuiltIn {
			return fmt.Errorf("%q has no fees yet, so its lots are left out; add rows for it to %s", site, s.File)
		}
	}
	return fmt.Errorf("%q has no fees yet, so its lots are left out; wreckoner start myshop writes %s, to add rows for it, "+
		"and --shop myshop reads it", site, shop.FeesFile)
}

// siteNamed returns the site as the shop spells it, or that the car is bought at none.
func (r *lotReader) siteNamed(name string) (string, error) {
	if strings.EqualFold(strings.TrimSpace(name), deal.Private) && !slices.ContainsFunc(r.sites,
		func(s string) bool { return strings.EqualFold(s, deal.Private) }) {
		return deal.Private, nil
	}
	key := tabular.Canonical(name)
	i := slices.IndexFunc(r.sites, func(s string) bool { return tabular.Canonical(s) == key })
	if i < 0 {
		return "", tabular.Unknown("site", name, r.sites)
	}
	return r.sites[i], nil
}

// day reads a date in the list's order of day and month, nil where there is none.
func (r *lotReader) day(x *reading, column string, c tabular.Cell) *time.Time {
	if !c.Given() || wordKey(c.Text()) == "tbc" || wordKey(c.Text()) == "tba" {
		return nil
	}
	d, err := typed.ParseDayNear(c.Text(), r.order, r.today())
	if x.bad(column, err) {
		return nil
	}
	if d.NoYear {
		r.said.add(fmt.Sprintf("a date without its year is taken as %d, by its weekday", d.Time.Year()), x.lot)
	}
	if d.Serial {
		r.said.add("a number in a column of dates is read as a spreadsheet's number for a day", x.lot)
	}
	r.tell(x, column, c.Text(), d.Time.Format(time.DateOnly))
	return &d.Time
}

// today is the day next to which a date without its year is.
func (r *lotReader) today() time.Time {
	if !r.how.On.Date.IsZero() {
		return r.how.On.Date
	}
	return r.now
}

func (r *lotReader) saleDate(x *reading, c tabular.Cell) {
	if x.sale = r.day(x, "sale_date", c); x.sale != nil {
		x.lot.SaleDate = x.sale.Format(time.DateOnly)
	}
}

func (r *lotReader) collectBy(x *reading, c tabular.Cell) {
	x.lot.CollectBy = c.Text()
	x.by = r.day(x, "collect_by", c)
}

func (r *lotReader) collectDays(x *reading, c tabular.Cell) {
	if !c.Given() {
		return
	}
	days, err := c.Number(0, 3650)
	if !x.bad("collect_days", err) {
		x.lot.CollectDays = &days
	}
}

// dates reads when the lot is to be collected: with the day of the sale, the last day of free storage says how many
// days are free.
func (r *lotReader) dates(x *reading) {
	switch on := r.how.On; {
	case x.sale != nil:
		x.lot.SaleYear = x.sale.Year()
	case !on.Date.IsZero():
		x.lot.SaleYear = on.Date.Year()
		r.undated = r.undated || x.lot.Year > 0
	}
	if x.sale == nil || x.by == nil {
		return
	}
	free := x.by.Sub(*x.sale).Hours() / 24
	if free < 0 {
		x.bad("collect_by", fmt.Errorf("%s is before the sale on %s", x.by.Format(time.DateOnly),
			x.sale.Format(time.DateOnly)))
		return
	}
	x.lot.FreeDays = &free
}

// observe counts what a file's dates show of the order of day and month.
func (r *lotReader) observe(column, cell string) {
	if column == "lot" && r.names != nil {
		r.names.see(cell)
	}
	switch column {
	case "sale_date", "collect_by", "closes":
	case "year": // most are no dates
		if len(cell) < len("1/3/2019") || !strings.ContainsAny(cell, "/-") {
			return
		}
	default:
		return
	}
	shows, open := typed.ShowsOrder(cell)
	if r.votes[shows]++; open {
		r.open++
	}
}

// headingWords are words of a heading that say neither a site nor a day.
var headingWords = []string{"sale", "sales", "auction", "lots", "lot", "at", "on", "site", "yard", "day", "the", "of",
	"vehicles", "cars", "from", "salvage",
	"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "mon", "tue", "tues", "wed", "thu",
	"thurs", "fri", "sat", "sun", "date", "location"}

// notHeading are words of a line that names a site or a day for another reason.
var notHeading = []string{"collect", "view", "print", "clos", "not", "except", "until", "call", "tel", "contact",
	"deliver", "updat", "issue", "produc", "revis", "no "}

// heading reads a row between lots, or a title above the header, that says where or when the lots are sold.
func (r *lotReader) heading(text string, title bool) (map[string]string, bool) {
	low := strings.ToLower(text)
	for _, word := range notHeading {
		if strings.Contains(low, word) {
			return nil, false
		}
	}
	values := map[string]string{}
	rest := low
	for _, s := range r.sites {
		if i := strings.Index(rest, strings.ToLower(s)); i >= 0 {
			if values["site"] != "" {
				return nil, false
			}
			values["site"] = s
			rest = rest[:i] + " " + rest[i+len(s):]
		}
	}
	rest = r.headingDay(rest, values)
	if values["sale_date"] == "" && !title && barelyDay.MatchString(strings.TrimSpace(rest)) {
		values["sale_date"] = strings.TrimSpace(rest) // a day for the rows below, but which is asked about
	}
	extra := 0
	for _, w := range strings.FieldsFunc(rest, func(c rune) bool { return strings.ContainsRune(" ,-–—:;|/()", c) }) {
		if !slices.Contains(headingWords, strings.Trim(w, ".")) {
			extra++
		}
	}
	allowed := 0
	if title {
		allowed = 3
	}
	return values, len(values) > 0 && extra <= allowed
}

// barelyDay is a heading that says a day and not which: Wed, day 2, the 9th.
var barelyDay = regexp.MustCompile(`^(?:on )?(?:mon|tue|tues|wed|weds|thu|thur|thurs|fri|sat|sun|monday|tuesday|wednesday|` +
	`thursday|friday|saturday|sunday)\.?(?:,? ?(?:the )?[0-9]{1,2}(?:st|nd|rd|th)?)?$|^day [0-9a-z]+$|^the [0-9]{1,2}(?:st|nd|rd|th)$`)

// headingDay finds a date among the words of a heading, and returns the other words.
func (r *lotReader) headingDay(text string, values map[string]string) string {
	words := strings.FieldsFunc(text, func(c rune) bool {
		return c == ' ' || c == ',' || c == '(' || c == ')' ||
			c == ':'
	})
	for size := min(len(words), 5); size > 0; size-- {
		for i := 0; i+size <= len(words); i++ {
			part := strings.Join(words[i:i+size], " ")
			if strings.IndexFunc(part, func(c rune) bool { return c == '/' || c == '-' || c >= 'a' && c <= 'z' }) < 0 {
				continue // a bare number is no day here
			}
			d, err := typed.ParseDay(part, r.order)
			yearless := typed.Yearless(part)
			if err != nil && !(d.Open && r.order == typed.Unknown) && !yearless {
				continue
			}
			r.observe("sale_date", part)
			if values["sale_date"] = part; err == nil && !yearless {
				values["sale_date"] = d.Time.Format(time.DateOnly)
			}
			return strings.Join(append(append([]string(nil), words[:i]...), words[i+size:]...), " ")
		}
	}
	return text
}
