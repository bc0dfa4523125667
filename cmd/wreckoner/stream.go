package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"strings"
	"sync"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

// A pace is how a run goes on after so many rows: how many go through a worker at once, and how much garbage there may
// be, in per cent of what is kept.
type pace struct{ batch, garbage func(rows int) int }

// streamed is the pace of a stream, which keeps no more as it goes on.
var streamed = pace{
	batch:   func(int) int { return 128 },
	garbage: func(int) int { return 25 },
}

// ranked is the pace of a list that is ranked. It keeps more and more: so garbage may be less by a tenth of that every
// 200,000 rows, down to a fifth. Of many rows at once a worker takes those together that are for like cars.
var ranked = pace{
	batch: func(rows int) int {
		if rows < manyRows {
			return 128
		}
		return 512
	},
	garbage: func(rows int) int { return max(20, 45-10*(rows/200_000)) },
}

// batch is some rows of a stream, and what became of them.
type batch struct {
	entries  []lots.ListRow
	out      []byte
	judged   []judged // for a ranking
	problems []tabular.Problem
	err      error
	done     chan struct{}
}

// stream evaluates rows as they come in, and writes them in the order of the
// input, without a rank, in bounded memory: list by list, under one header.
func (c *screen) stream(ctx context.Context, e *evaluate.Evaluator, paths []string) error {
	e.KeepFew()
	rejected := 0
	err := c.out.deliver(func(w io.Writer) error {
		for i, path := range paths {
			n, err := c.streamOne(ctx, e, path, i == 0, w)
			if rejected += n; err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	if rejected > 0 {
		return errRejected
	}
	return nil
}

// streamHeader writes the header of the output.
func (c *screen) streamHeader(e *evaluate.Evaluator, w io.Writer) error {
	if c.noHeader {
		return nil
	}
	asJSON := format(c.out.format) == asJSON
	head, err := report.NewStream(asJSON, true).WithEvidence(e.Prices() != nil).Header(nil)
	if err != nil {
		return err
	}
	_, err = w.Write(head)
	return err
}

// streamOne streams one list, the first behind the header, and returns how many problems its rows have.
func (c *screen) streamOne(ctx context.Context, e *evaluate.Evaluator, path string, first bool, w io.Writer) (
	rejected int, err error) {
	how, err := c.lots.reading()
	if err != nil {
		return 0, err
	}
	in, err := c.input(path)
	if err != nil {
		return 0, err
	}
	defer in.Close()
	list, err := lots.OpenLots(in.Source, e.Shop(), how)
	if err != nil {
		return 0, err
	}
	if first {
		if err := c.streamHeader(e, w); err != nil {
			return 0, err
		}
	}
	if rejected, err = c.pipe(ctx, e, list, w); err == nil && !c.out.quiet {
		c.s.notice(list.Notices())
	}
	return rejected, err
}

// pipe evaluates the rows and writes them in the order in which they were read.
func (c *screen) pipe(ctx context.Context, e *evaluate.Evaluator, list *lots.Lots, w io.Writer) (rejected int,
	err error) {
	asJSON := format(c.out.format) == asJSON
	progress := c.s.progress(c.out.quiet, 0)
	defer progress.end()
	worker := func() func(*batch) {
		bench, out := e.Worker(), report.NewStream(asJSON, report.Guard(!c.out.raw)).WithEvidence(e.Prices() != nil)
		return func(b *batch) { b.run(bench, out) }
	}
	err = flow(ctx, e.Options().Workers, list, streamed, worker, func(b *batch) error {
		progress.clear(len(b.problems) > 0)
		c.s.report(b.problems)
		rejected += len(b.problems)
		if _, err := w.Write(b.out); err != nil {
			return err
		}
		progress.add(len(b.entries))
		return nil
	})
	return rejected, err
}

// flow runs the rows through workers, a batch at a time, and hands the batches to
// take in the order in which they were read, however long each takes. From manyRows on,
// garbage is bounded.
func flow(ctx context.Context, workers int, list *lots.Lots, p pace, worker func() func(*batch),
	take func(*batch) error) (err error) {
	ctx, cancel := context.WithCancel(ctx)
	work, order := make(chan *batch), make(chan *batch, 4*workers)
	var wait sync.WaitGroup
	for range workers {
		wait.Go(func() {
			run := worker()
			for b := range work {
				run(b)
				close(b.done)
			}
		})
	}
	var readErr error
	wait.Go(func() {
		defer close(order)
		defer close(work)
		readErr = feed(ctx, list, p.batch, work, order)
	})
	defer func() {
		cancel()
		for b := range order { // let the reader end
			<-b.done
		}
		wait.Wait()
		if err == nil { // else the reader may only have been stopped
			err = readErr
		}
	}()
	rows, percent := 0, 0
	for b := range order {
		<-b.done
		if b.err != nil {
			return b.err
		}
		if err := take(b); err != nil {
			return err
		}
		rows += len(b.entries)
		if now := p.garbage(rows); rows >= manyRows && now != percent {
			percent = now
			tighten(percent)
		}
	}
	return nil
}

// manyRows is from how many rows on memory matters more than the time to collect
// garbage: what a long run keeps has few pointers, and is soon gone through.
const manyRows = 5_000

// tighten lets garbage be no more than so many per cent of what is kept, for the rest of
// the command, where nobody has said otherwise.
func tighten(garbage int) {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbage)
	}
}

// feed reads batches, and hands each to the workers and, in order, to the writer.
func feed(ctx context.Context, list *lots.Lots, size func(rows int) int, work, order chan<- *batch) error {
	send := func(b *batch) error {
		select {
		case order <- b:
		case <-ctx.Done():
			return ctx.Err()
		}
		select {
		case work <- b:
		case <-ctx.Done():
			b.err = ctx.Err()
			close(b.done)
			return ctx.Err()
		}
		return nil
	}
	fresh := func() *batch { return &batch{done: make(chan struct{})} }
	b, rows := fresh(), 0
	for entry, err := range list.All() {
		if err != nil {
			return errors.Join(send(b), err)
		}
		if b.entries = append(b.entries, entry); len(b.entries) >= size(rows) {
			rows += len(b.entries)
			if err := send(b); err != nil {
				return err
			}
			b = fresh()
		}
	}
	return send(b)
}

// run evaluates a batch.
func (b *batch) run(bench *evaluate.Worker, out *report.Stream) {
	b.out = make([]byte, 0, out.Expect(len(b.entries)))
	for _, entry := range b.entries {
		if len(entry.Problems) > 0 {
			b.problems = append(b.problems, entry.Problems...)
			continue
		}
		r, err := bench.Evaluate(entry.Lot)
		if err != nil {
			b.problems = append(b.problems, lots.Unjudged(entry.Lot, err))
			continue
		}
		if b.out, b.err = out.Append(b.out, r); b.err != nil {
			return
		}
	}
}

// input opens the rows. With --header the first line of another file comes
// before them.
func (c *screen) input(path string) (input, error) {
	if c.header == "" {
		return c.s.openSource(path, c.lots.sheet)
	}
	text, err := os.ReadFile(c.header)
	if err != nil {
		return input{}, plainError(err)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	if strings.TrimSpace(line) == "" {
		return input{}, fmt.Errorf("%s: the first line should be the header, and it is blank", c.header)
	}
	r, name, err := c.s.open(path)
	if err != nil {
		return input{}, err
	}
	source, err := c.s.source(io.MultiReader(strings.NewReader(line+"\n"), r), name, c.lots.sheet)
	if err != nil {
		return input{}, errors.Join(err, r.Close())
	}
	return input{source, r}, nil
}
