package source

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// A Sourcing is a list of ways to get jobs done, as read.
type Sourcing struct {
	Jobs     []Job
	Problems []tabular.Problem
	Notices  []string
	// Unordered says that what waits for what cannot be made out, so that the
	// jobs cannot be judged; Problems say why.
	Unordered bool
}

// optionRow is one row of such a list.
type optionRow struct {
	Job       tabular.Cell `csv:"job"`
	Option    tabular.Cell `csv:"option"`
	Low       tabular.Cell `csv:"low"`
	Mid       tabular.Cell `csv:"mid"`
	High      tabular.Cell `csv:"high"`
	Hours     tabular.Cell `csv:"hours"`
	LeadDays  tabular.Cell `csv:"lead_days"`
	Works     tabular.Cell `csv:"works"`
	LostIfNot tabular.Cell `csv:"lost_if_not,omitempty"`
	Note      tabular.Cell `csv:"note,omitempty"`
	After     tabular.Cell `csv:"after,omitempty"`
}

// ReadSourcing reads a list of ways to get jobs done: one row for each option of
// each job. columns names columns that the list calls otherwise. Rows that cannot
// be read become problems; the error is for a list of which nothing can be read.
func ReadSourcing(src tabular.Source, columns map[string]string) (*Sourcing, error) {
	t, err := tabular.Open(src, tabular.Options{Columns: tabular.ColumnsOf[optionRow](), Map: columns})
	if err != nil {
		return nil, err
	}
	r := sourcingReader{out: &Sourcing{}, file: t.File(), jobs: map[string]int{}, lines: map[[2]string]int{}}
	if err := tabular.Rows(t, &r.out.Problems, r.row); err != nil {
		return nil, err
	}
	r.order()
	r.out.Notices = slices.Concat(t.Notices(), r.out.Notices, t.Ignored())
	return r.out, nil
}

type sourcingReader struct {
	out   *Sourcing
	file  string
	jobs  map[string]int    // by key
	lines map[[2]string]int // of each option of each job
	waits []wait            // what comes after what, as written
	named map[string]bool   // jobs of which a row was there, readable or not
}

// wait is the after cell of a row.
type wait struct {
	job   string // key
	place tabular.Place
	text  string
}

func (r *sourcingReader) notice(text string) {
	r.out.Notices = append(r.out.Notices, r.file+": "+text)
}

// row reads one way to get one job done.
func (r *sourcingReader) row(v *optionRow, k *tabular.Check) {
	job := k.Name("job", v.Job, "write the name of what has to be done")
	key := tabular.NameKey(job)
	if job != "" {
		r.name(key, v, k.Place)
	}
	o := readOption(v, k)
	if k.Failed {
		return
	}
	if first, dup := r.lines[[2]string{key, tabular.NameKey(o.Name)}]; dup {
		k.Bad("option", fmt.Errorf("%s already has %q on line %d; keep one, or give them different names", job, o.Name,
			first))
		return
	}
	r.lines[[2]string{key, tabular.NameKey(o.Name)}] = k.Line
	j := r.job(key, job)
	if !o.Certain() && j.uncertain() >= MaxUncertain {
		k.Bad("option", fmt.Errorf("%s has more than %d options that may not work; keep those you would try", job,
			MaxUncertain))
		return
	}
	r.doubts(k.Line, &o)
	j.Options = append(j.Options, o)
}

// name keeps that a job has a row, and what the row says it comes after.
func (r *sourcingReader) name(key string, v *optionRow, at tabular.Place) {
	if r.named == nil {
		r.named = map[string]bool{}
	}
	r.named[key] = true
	if v.After.Given() {
		r.waits = append(r.waits, wait{key, at, v.After.Text()})
	}
}

// readOption reads the cells of a row that describe the option.
func readOption(v *optionRow, k *tabular.Check) Option {
	o := Option{Name: k.Name("option", v.Option, "write the name of the way to do it"), Note: v.Note.Text()}
	o.Spend = shop.Three(v.Low, v.Mid, v.High, stats.Skewed, [3]string{"low", "mid", "high"}, k)
	o.Hours = k.Number("hours", v.Hours, 0, 1e4)
	o.LeadDays = k.Number("lead_days", v.LeadDays, 0, 3650)
	o.Works = k.Chance("works", v.Works, "means it cannot work; remove the row")
	if v.LostIfNot.Given() {
		o.Refund = true
		var err error
		if o.Lost, err = v.LostIfNot.Number(0, 1e9); err == nil && o.Lost > o.Spend.High && !k.Failed {
			err = fmt.Errorf("%s is more than the spend, at most some %v; leave it blank if all is lost, and put other "+
				"costs into low, mid and high", v.LostIfNot.Text(), o.Spend.High)
		}
		k.Bad("lost_if_not", err)
	}
	return o
}

// job returns the job of a key, and adds one of that name where there is none yet.
func (r *sourcingReader) job(key, name string) *Job {
	at, ok := r.jobs[key]
	if !ok {
		at = len(r.out.Jobs)
		r.jobs[key] = at
		r.out.Jobs = append(r.out.Jobs, Job{Name: name})
	}
	return &r.out.Jobs[at]
}

// doubts says what of an option can be read, and is seldom meant.
func (r *sourcingReader) doubts(line int, o *Option) {
	if o.Refund && o.Certain() {
		r.notice(fmt.Sprintf("line %d: %s: lost_if_not is ignored where works is 1", line, o.Name))
	}
	if ratio := o.Spend.TailRatio(); ratio > stats.WarnRatio {
		r.notice(fmt.Sprintf("line %d: spend of %s: one side is %.1f times the other, more than most people mean; check "+
			"low, mid and high", line, o.Name, ratio))
	}
}

// order finds the jobs that each job waits for.
func (r *sourcingReader) order() {
	fault := func(w wait, err error) {
		r.out.Unordered = true
		r.out.Problems = append(r.out.Problems, w.place.At("after", err))
	}
	from := map[[2]int]wait{}
	for _, w := range r.waits {
		j, ok := r.jobs[w.job]
		if !ok {
			continue // none of the job's rows could be read; that was said
		}
		names, unknown := r.names(w.text)
		if unknown != "" {
			fault(w, r.unknown(unknown))
		}
		for _, k := range names {
			if k == j {
				fault(w, fmt.Errorf("%q waits for itself; name the jobs that must be done before it", r.out.Jobs[j].Name))
				continue
			}
			if !slices.Contains(r.out.Jobs[j].After, k) {
				r.out.Jobs[j].After = append(r.out.Jobs[j].After, k)
				from[[2]int{j, k}] = w
			}
		}
	}
	before := make([][]int, len(r.out.Jobs))
	for j := range r.out.Jobs {
		before[j] = r.out.Jobs[j].After
	}
	if ring := Ring(before); ring != nil {
		names := make([]string, 0, len(ring)+1)
		for _, j := range append(ring, ring[0]) {
			names = append(names, r.out.Jobs[j].Name)
		}
		fault(from[[2]int{ring[0], ring[1%len(ring)]}],
			fmt.Errorf("%s: they wait for each other in a circle; remove one of them from after",
				strings.Join(names, " after ")))
	}
}

// names reads the names of jobs, split by semicolons, commas or spaces; a name
// that has spaces itself is known by the longest run of words that is a job.
func (r *sourcingReader) names(text string) (jobs []int, unknown string) {
	for piece := range strings.FieldsFuncSeq(text, func(c rune) bool { return c == ';' || c == ',' }) {
		words := strings.Fields(piece)
	next:
		for len(words) > 0 {
			for n := len(words); n > 0; n-- {
				if j, ok := r.jobs[tabular.NameKey(strings.Join(words[:n], " "))]; ok {
					jobs = append(jobs, j)
					words = words[n:]
					continue next
				}
			}
			return jobs, strings.Join(words, " ")
		}
	}
	return jobs, ""
}

// unknown is the error of a name that is no job.
func (r *sourcingReader) unknown(name string) error {
	if r.named[tabular.NameKey(name)] {
		return fmt.Errorf("no row of %q could be read; fix its rows first", name)
	}
	var all []string
	for i := range r.out.Jobs {
		all = append(all, r.out.Jobs[i].Name)
	}
	if near := tabular.Nearest(name, all); near != "" {
		return fmt.Errorf("%q is not a job in this file; did you mean %s?", name, near)
	}
	return fmt.Errorf("%q is not a job in this file; write one of %s", name, strings.Join(all, ", "))
}
