package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"
	"strings"
	"sync"

	"wreckoner/damage"
	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

// judged is what became of one row in a worker: a result, or its row of the
// output, from one byte of the batch's output to another.
type judged struct {
	key      bid.Key
	result   *evaluate.Result
	from, to int
	err      error
}

// ranking is a list that is being ranked. It holds the results where they are
// wanted as such, and else, in a spool, their rows.
type ranking struct {
	*screen
	by       bid.Order
	lots     *lots.Lots
	unread   *rejects // rows that cannot be read
	unjudged *rejects // rows that were read and cannot be judged
	rows     int
	text     int // bytes of the rows

	held *held    // nil: rows are spooled
	kept *spooled // nil: results are held
}

// rank evaluates a list and writes it, best first.
func (c *screen) rank(ctx context.Context, e *evaluate.Evaluator, paths []string, by bid.Order) (err error) {
	var in inputs
	defer func() { err = errors.Join(err, in.Close()) }()
	list, err := c.open(e, paths, &in)
	if err != nil {
		return err
	}
	if err := c.lots.keepable(list); err != nil {
		return err
	}
	r := &ranking{screen: c, by: by, lots: list, unread: newRejects(c.out.file), unjudged: newRejects(c.out.file)}
	if f := format(c.out.format); c.html.file == "" && (f == asCSV || f == asJSON) {
		r.kept = &spooled{spool: newSpool(c.out.file), lots: list}
	} else {
		r.held = &held{top: c.top}
	}
	defer func() { err = errors.Join(err, r.close()) }()
	if err := r.read(ctx, e, in.share); err != nil {
		return err
	}
	if !c.out.quiet {
		c.s.notice(list.Notices())
	}
	if err := c.lots.keepOf(c.s, list); err != nil {
		return err
	}
	for p, err := range r.problems() {
		if err := errors.Join(err, ctx.Err()); err != nil {
			return err
		}
		c.s.report([]tabular.Problem{p})
	}
	if err := r.writeRejects(); err != nil {
		return err
	}
	if err := r.write(ctx, e, strings.Join(paths, ", ")); err != nil {
		return err
	}
	if r.unread.rows+r.unjudged.rows > 0 {
		return errRejected
	}
	return nil
}

// open opens the lists as one. in has what is to be closed then, also after an error.
func (c *screen) open(e *evaluate.Evaluator, paths []string, in *inputs) (*lots.Lots, error) {
	how, err := c.lots.reading()
	if err != nil {
		return nil, err
	}
	var sources []tabular.Source
	var hows []lots.Reading
	for _, path := range paths {
		one, err := c.s.openSource(path, c.lots.sheet)
		if err != nil {
			return nil, err
		}
		*in = append(*in, one)
		how.Again = c.s.again(path, c.lots.sheet, one)
		sources, hows = append(sources, one.Source), append(hows, how)
	}
	return lots.OpenAll(sources, e.Shop(), hows)
}

// read runs the list through the workers.
func (r *ranking) read(ctx context.Context, e *evaluate.Evaluator, share func() float64) error {
	progress := r.s.progress(r.out.quiet, 0)
	progress.share = share
	defer progress.end()
	asJSON := format(r.out.format) == asJSON
	forTable := r.html.file == "" && (format(r.out.format) == asTable || format(r.out.format) == asMarkdown)
	worker := func() func(*batch) {
		bench := e.Worker()
		var out *report.Stream
		if r.kept != nil {
			out = report.NewStream(asJSON, report.Guard(!r.out.raw)).WithEvidence(e.Prices() != nil)
		}
		return func(b *batch) { b.err = b.judge(ctx, bench, out, r.by, forTable) }
	}
	return flow(ctx, e.Options().Workers, r.lots, ranked, worker, func(b *batch) error {
		for i := range b.entries {
			if err := r.take(&b.entries[i], b, &b.judged[i]); err != nil {
				return err
			}
		}
		progress.add(len(b.entries))
		if b.out != nil {
			rowBuffers.Put(&b.out)
		}
		return nil
	})
}

// rowBuffers are memory for the rows of a batch.
var rowBuffers sync.Pool

// rowBuffer returns memory for rows of so many bytes, and more.
func rowBuffer(size int) []byte {
	if known, ok := rowBuffers.Get().(*[]byte); ok {
		return slices.Grow((*known)[:0], size)
	}
	return make([]byte, 0, size)
}

// judge evaluates a batch. With out, results become rows; those for a table keep
// only what it shows.
func (b *batch) judge(ctx context.Context, bench *evaluate.Worker, out *report.Stream, by bid.Order,
	forTable bool) error {
	b.judged = make([]judged, len(b.entries))
	if out != nil {
		b.out = rowBuffer(out.Expect(len(b.entries)))
	}
	for _, i := range b.likeTogether() {
		if err := ctx.Err(); err != nil {
			return err
		}
		entry, j := &b.entries[i], &b.judged[i]
		var result *evaluate.Result
		if result, j.err = bench.Evaluate(entry.Lot); j.err != nil {
			continue
		}
		if out == nil {
			if j.result = result; forTable {
				slim(result)
			}
			continue
		}
		j.key, j.from = evaluate.KeyOf(result, by), len(b.out)
		var err error
		if b.out, err = out.Append(b.out, result); err != nil {
			return err
		}
		j.to = len(b.out)
	}
	return nil
}

// likeTogether returns the numbers of the rows that were read, those for like cars one after the other: what is worked
// out for one serves the next while it is still near the processor.
func (b *batch) likeTogether() []int {
	order := make([]int, 0, len(b.entries))
	for i := range b.entries {
		if len(b.entries[i].Problems) == 0 {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		x, y := b.entries[i].Lot, b.entries[j].Lot
		return cmp.Or(strings.Compare(x.Segment, y.Segment), cmp.Compare(x.Year, y.Year))
	})
	return order
}

// slim lets go of what no table shows: half of a result.
func slim(r *evaluate.Result) {
	r.Hidden, r.Lot.Cells, r.Lot.Code = nil, nil, damage.Code{}
	for i := range r.Warnings {
		r.Warnings[i].Text = ""
	}
}

// take takes over what became of a row. Rows come in the order of the list.
func (r *ranking) take(row *lots.ListRow, b *batch, j *judged) error {
	r.rows++
	r.text += len(row.Raw)
	if r.rows > lots.MostRanked {
		return r.lots.Beyond(*row, "a list of more than %d lots is not ranked; split it, or use screen --stream",
			lots.MostRanked)
	}
	if r.held != nil && r.held.more == nil && (r.rows > mostHeld || r.text > lots.MostText) {
		if err := r.outgrown(row); err != nil {
			return err
		}
	}
	number := r.lots.Unique(row)
	switch {
	case len(row.Problems) > 0:
		return r.unread.add(lots.Rejected{Raw: row.Raw, Problems: row.Problems, List: row.List})
	case j.err != nil:
		return r.unjudged.add(lots.Rejected{Raw: row.Raw, List: row.List,
			Problems: []tabular.Problem{lots.Unjudged(row.Lot, j.err)}})
	case r.held != nil:
		r.held.add(j.result, r.by)
		return nil
	}
	return r.kept.add(spooledRow{merit: j.key.Merit, mean: j.key.Mean, block: j.key.Block, number: number},
		b.out[j.from:j.to])
}

// mostHeld is from how many rows on a list is too long to be held.
var mostHeld = lots.MostLots

// outgrown goes over to holding the best results only, or says why not.
func (r *ranking) outgrown(row *lots.ListRow) error {
	switch {
	case r.html.file != "":
		return r.lots.Beyond(*row, "a page shows no more than %s; leave --html out, or split the list", lots.Most())
	case format(r.out.format) == asXLSX:
		return r.lots.Beyond(*row,
			"a workbook is written of no more than %s; write CSV, as in -o ranked.csv, or split the list", lots.Most())
	}
	r.held.outgrow(r.by)
	return nil
}

// rejected yields the rejected rows, those that cannot be read first.
func (r *ranking) rejected() iter.Seq2[lots.Rejected, error] {
	return func(yield func(lots.Rejected, error) bool) {
		for _, some := range []*rejects{r.unread, r.unjudged} {
			for row, err := range some.all() {
				if !yield(row, err) {
					return
				}
			}
		}
	}
}

// problems yields what is wrong with them.
func (r *ranking) problems() iter.Seq2[tabular.Problem, error] {
	return func(yield func(tabular.Problem, error) bool) {
		for row, err := range r.rejected() {
			if err != nil {
				yield(tabular.Problem{}, err)
				return
			}
			for _, p := range row.Problems {
				if !yield(p, nil) {
					return
				}
			}
		}
	}
}

func (r *ranking) close() error {
	err := errors.Join(r.unread.Close(), r.unjudged.Close())
	if r.kept != nil {
		err = errors.Join(err, r.kept.Close())
	}
	return err
}

// held are results, or of a list too long for that the best of each status.
type held struct {
	results []*evaluate.Result
	top     int
	more    *report.More // nil: all are held
}

// mostShown is how many lots of each status are shown of a list too long to be
// held, where nobody says how many.
const mostShown = 100

func (h *held) add(r *evaluate.Result, by bid.Order) {
	h.results = append(h.results, r)
	if h.more != nil && len(h.results) > 16*h.more.Shown {
		h.cut(by)
	}
}

// outgrow lets go of all but the best.
func (h *held) outgrow(by bid.Order) {
	h.more = &report.More{Shown: mostShown, Lots: map[bid.Status]int{}}
	if h.top > 0 {
		h.more.Shown = min(h.top, report.MostShown)
	}
	h.cut(by)
}

func (h *held) cut(by bid.Order) {
	evaluate.Rank(h.results, by)
	seen := map[bid.Status]int{}
	h.results = slices.Clip(slices.DeleteFunc(h.results, func(r *evaluate.Result) bool {
		seen[r.Status]++
		if seen[r.Status] <= h.more.Shown {
			return false
		}
		h.more.Lots[r.Status]++
		return true
	}))
}

// spooled are the rows of results in a spool. In memory is what the rank of each
// hangs on and where it is: with its number under 100 bytes, none of them a
// pointer, which the garbage collector would have to walk.
type spooled struct {
	*spool
	lots   *lots.Lots // has the numbers
	pieces []piece
	rows   int
}

// piece is some rows: a slice of all would be copied whole as it grows.
type piece struct {
	from int64 // in the spool
	rows []spooledRow
}

type spooledRow struct {
	merit, mean float64 // as in bid.Key
	to          uint32  // where it ends, from the start of its piece
	number      int32
	block       int8
}

// pieceRows is how many rows a piece has.
const pieceRows = 1 << 14

func (s *spooled) add(r spooledRow, row []byte) error {
	if s.rows%pieceRows == 0 {
		s.pieces = append(s.pieces, piece{s.end(), make([]spooledRow, 0, pieceRows)})
	}
	last := &s.pieces[len(s.pieces)-1]
	to := s.end() - last.from + int64(len(row))
	if to > math.MaxUint32 {
		return fmt.Errorf("the results of %d lots come to more than 4 GiB, too much to be ranked; use screen --stream",
			len(last.rows)+1)
	}
	r.to = uint32(to)
	last.rows = append(last.rows, r)
	s.rows++
	_, err := s.Write(row)
	return err
}

func (s *spooled) row(i int32) *spooledRow { return &s.pieces[i/pieceRows].rows[i%pieceRows] }

// read appends the text of a row to buf.
func (s *spooled) read(i int32, buf []byte) ([]byte, error) {
	p, n := &s.pieces[i/pieceRows], i%pieceRows
	from := uint32(0)
	if n > 0 {
		from = p.rows[n-1].to
	}
	before, size := len(buf), int(p.rows[n].to-from)
	buf = slices.Grow(buf, size)[:before+size]
	_, err := s.ReadAt(buf[before:], p.from+int64(from))
	return buf, err
}

// key is the row's without the lot's number, which lies far away and is seldom needed.
func (r *spooledRow) key() bid.Key { return bid.Key{Merit: r.merit, Mean: r.mean, Block: r.block} }

// ranked yields the rows, best first. They are read while those before are written.
func (s *spooled) ranked() iter.Seq2[report.RankedRow, error] {
	return func(yield func(report.RankedRow, error) bool) {
		ready, free, done := make(chan *readRows), make(chan *readRows, 2), make(chan struct{})
		for range cap(free) {
			free <- &readRows{}
		}
		go s.readAhead(ready, free, done)
		defer func() { // nothing is read once this has returned
			close(done)
			for range ready {
			}
		}()
		rank := 0
		for rows := range ready {
			if rows.err != nil {
				yield(report.RankedRow{}, rows.err)
				return
			}
			from := 0
			for n, i := range rows.numbers {
				out := report.RankedRow{Row: rows.text[from:rows.ends[n]:rows.ends[n]]}
				from = rows.ends[n]
				if key := s.row(i).key(); key.Ranked() {
					rank++
					out.Rank = rank
				}
				if !yield(out, nil) {
					return
				}
			}
			free <- rows
		}
	}
}

// readRows are some rows, by their numbers, with their text and where in it each ends.
type readRows struct {
	numbers []int32
	text    []byte
	ends    []int
	err     error
}

// readAhead reads the rows, best first, until done or an error, and closes ready.
func (s *spooled) readAhead(ready chan<- *readRows, free <-chan *readRows, done <-chan struct{}) {
	defer close(ready)
	for numbers := range slices.Chunk(s.order(), 1024) {
		var rows *readRows
		select {
		case rows = <-free:
		case <-done:
			return
		}
		rows.numbers, rows.text, rows.ends = numbers, rows.text[:0], rows.ends[:0]
		for _, i := range numbers {
			if rows.text, rows.err = s.read(i, rows.text); rows.err != nil {
				break
			}
			rows.ends = append(rows.ends, len(rows.text))
		}
		select {
		case ready <- rows:
		case <-done:
			return
		}
		if rows.err != nil {
			return
		}
	}
}

// order returns the numbers of the rows, best first.
func (s *spooled) order() []int32 {
	all := make([]int32, s.rows)
	for i := range all {
		all[i] = int32(i)
	}
	one, other := all[:len(all)/2], all[len(all)/2:]
	var wait sync.WaitGroup
	wait.Go(func() { slices.SortFunc(one, s.compare) })
	slices.SortFunc(other, s.compare)
	wait.Wait()
	out := make([]int32, 0, len(all))
	for len(one) > 0 && len(other) > 0 {
		first := &one
		if s.compare(one[0], other[0]) > 0 {
			first = &other
		}
		out = append(out, (*first)[0])
		*first = (*first)[1:]
	}
	return append(append(out, one...), other...)
}

// compare returns less than 0 where row a comes before row b, above 0 where after it.
func (s *spooled) compare(a, b int32) int {
	x, y := s.row(a), s.row(b)
	left, right := x.key(), y.key()
	if way := left.Compare(&right); way != 0 {
		return way
	}
	return cmp.Compare(s.lots.Number(x.number), s.lots.Number(y.number))
}
