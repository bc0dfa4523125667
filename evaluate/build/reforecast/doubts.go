package reforecast

import (
	"fmt"
	"strings"

	"wreckoner/damage"
	"wreckoner/damage/costs"
)

func (out *Forecast) notice(format string, args ...any) {
	out.Notices = append(out.Notices, fmt.Sprintf(format, args...))
}

// doubts says what in the ledger was guessed, or does not fit the cost table. listed says
// that the car is advertised.
func (out *Forecast) doubts(f *Forecaster, k *known, listed bool) {
	var blank, open []string
	var late []overdue
	missing := 0.0
	for _, j := range k.jobs {
		if j == nil {
			continue
		}
		if !j.Done {
			open = append(open, j.Spot.String())
		}
		p, priced := f.price(j.item())
		if !out.gradeDoubts(j, priced) {
			continue
		}
		if hours := p.hours.Mean() * p.hoursTimes; !j.HasHours && j.Done && hours >= 0.5 {
			blank = append(blank, j.Spot.String())
			missing += hours
		}
		out.costDoubts(f, j, p)
		if l, ok := overdueParts(f, j); ok {
			late = append(late, l)
		}
	}
	out.partsDoubts(late)
	if listed && len(open) > 0 {
		out.notice("the car is for sale, and %s still open: days left count the sale only", isAre(open))
	}
	if len(blank) > 0 {
		out.notice("no hours are written for %s: your time there counts as nothing, where the cost table expects about "+
			"%.0f hours in all; only the money is compared", strings.Join(blank, ", "), missing)
	}
}

// dearTogether says why a payment can raise what all jobs together are still to cost: jobs of
// one car run dear together, and an open one has cost more than such a job does.
func (out *Forecast) dearTogether() {
	var over []string
	others := false
	for _, l := range out.Jobs {
		switch {
		case l.State == Open && l.Over:
			over = append(over, l.Spot.String())
		case l.State == Open || l.State == Untouched:
			others = true
		}
	}
	if len(over) == 0 || !others || out.Severity.Mean < runsDear {
		return
	}
	has := "has"
	if len(over) > 1 {
		has = "have"
	}
	out.notice("%s %s cost more than usual, and jobs on one car tend to run dear together: each payment there leaves "+
		"less of that job to come, and can raise what the other jobs are expected to cost", strings.Join(over, ", "), has)
}

// allPaid names the open jobs whose parts are likelier all paid than not.
func (out *Forecast) allPaid() {
	var names []string
	for _, l := range out.Jobs {
		if l.State == Open && l.Paid > 0.5 {
			names = append(names, fmt.Sprintf("%s (%.0f in 100)", l.Spot, 100*l.Paid))
		}
	}
	if len(names) > 0 {
		out.notice("going by what such jobs cost, the parts of these open jobs may well be all paid for: %s; what is "+
			"still to come counts that chance", strings.Join(names, ", "))
	}
}

// runsDear is the severity factor from which it is said that a car runs dear.
const runsDear = 0.25

// item is the damage that the job counts as.
func (j *settled) item() damage.Item { return damage.Item{Spot: j.Spot, Grade: j.at} }

// gradeDoubts says what is uncertain about a job's grade. It reports whether the job is
// held against the cost table: it has a grade, and the table a row for it.
func (out *Forecast) gradeDoubts(j *settled, priced bool) bool {
	if j.at == 0 {
		switch {
		case !j.planned && (j.Spend != 0 || j.Hours > 0):
			out.notice("%s was not expected, and no row names its grade: it counts at what it has cost so far, with nothing "+
				"to come", j.Spot)
		case j.Absent == 0 && j.Done && !out.Finished:
			out.notice("%s is done, with nothing spent and no grade: it counts as not there", j.Spot)
		}
		return false
	}
	item := j.item()
	switch {
	case !priced:
		out.notice("the cost table has no row for %s: it counts at what it cost, and changes nothing else", item)
	case j.guessed:
		out.notice("%s has cost money and no row names its grade: it counts as %s, the least that was expected", j.Spot, item)
	case j.foundLess():
		out.notice("%s was found where %s was seen: until the job is done, or %s%d is marked clear, the worse one counts",
			damage.Item{Spot: j.Spot, Grade: j.Found}, item.Mark(), j.Class.Letter(), j.seen)
	}
	return priced
}

// foundLess reports whether the strip found less than was seen at the sale, in a job that is
// still open and counts at the grade seen.
func (j *settled) foundLess() bool {
	return j.seen > 0 && j.Found > 0 && j.Found < j.seen && !j.Done && j.at == j.seen
}

// costDoubts says where the money of a job does not fit the cost table's price for it.
func (out *Forecast) costDoubts(f *Forecaster, j *settled, p price) {
	item := j.item()
	if j.Spend < 0 {
		out.notice("%s has more money back than out: check its rows", j.Spot)
	}
	if !j.Done {
		if _, beyond := p.floor(j.Job); beyond {
			out.notice("%s has cost more than the cost table allows for, and is still open: little or nothing more is "+
				"counted for it", item)
		}
		return
	}
	if actual := j.Spend + f.shop.LabourRate*j.Hours; !(actual > 0) {
		out.notice("%s was done for nothing: the other jobs are left as they are", item)
	}
	if u, beyond, ok := p.score(j.Job); ok && beyond && u > 0 {
		out.notice("%s cost more than 159 in 160 such jobs should: it is toned down for the forecast; check that row of "+
			"costs.csv", item)
	}
}

// overdue is an open job whose parts were paid for longer ago than the cost table allows, in days.
type overdue struct {
	item         damage.Item
	waited, lead float64
}

// overdueParts reports whether the parts of an open job were paid for longer ago than 9 in 10 take to come, and no row
// says when they are due.
func overdueParts(f *Forecaster, j *settled) (overdue, bool) {
	item := j.item()
	lead := f.shop.Costs.Rows()[rowOf(f.shop.Costs, item)].LeadDays
	late := !j.Done && j.Due == nil && lead > 0 && j.Waited > lead*f.shop.LeadSpread.Quantile(0.9)
	return overdue{item, j.Waited, lead}, late
}

// partsDoubts says, in one notice, which parts are taken as arrived though no row says that they came.
func (out *Forecast) partsDoubts(late []overdue) {
	const then = "if they have not, write the day in the column due"
	switch len(late) {
	case 0:
	case 1:
		l := late[0]
		out.notice("parts for %s were paid for %.0f days ago, and the cost table allows %.0f, so they are taken as "+
			"arrived; %s", l.item, l.waited, l.lead, then)
	default:
		var each []string
		for _, l := range late {
			each = append(each, fmt.Sprintf("%s (%.0f days, %.0f allowed)", l.item, l.waited, l.lead))
		}
		out.notice("parts that were paid for longer ago than the cost table allows are taken as arrived: %s; %s",
			strings.Join(each, ", "), then)
	}
}

func isAre(names []string) string {
	verb := " is"
	if len(names) > 1 {
		verb = " are"
	}
	return strings.Join(names, ", ") + verb
}

// rowOf is for items that have a row.
func rowOf(b *costs.Table, i damage.Item) int {
	n, _ := b.RowOf(i)
	return n
}
