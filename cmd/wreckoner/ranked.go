package main

import (
	"bufio"
	"context"
	"io"

	"wreckoner/evaluate"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
)

// write writes the ranking, and the page if one is asked for.
func (r *ranking) write(ctx context.Context, e *evaluate.Evaluator, path string) error {
	opt := e.Options()
	if r.kept != nil {
		all := &report.Ranked{Shop: e.Shop(), Folder: r.shop.folder, Seed: opt.Seed, Points: e.Drawn(),
			Evidence: e.Prices() != nil,
			Notices:  r.lots.Notices(), Rejected: r.problems(), Rows: r.kept.ranked()}
		return r.out.deliver(func(w io.Writer) error {
			b := bufio.NewWriterSize(w, 1<<16)
			write := all.CSV
			if format(r.out.format) == asJSON {
				write = all.JSON
			}
			if err := write(b); err != nil {
				return err
			}
			return b.Flush()
		})
	}
	evaluate.Rank(r.held.results, r.by)
	s := &report.Screen{
		Results: r.held.results, Shop: e.Shop(), Folder: r.shop.folder,
		Seed: opt.Seed, Points: e.Drawn(), By: r.by, Evidence: e.Prices() != nil, Top: r.top, Quiet: r.out.quiet,
		Notices: r.lots.Notices(), More: r.held.more,
	}
	if s.More != nil {
		r.held.cut(r.by)
		s.Results, s.More.Rejected = r.held.results, r.unread.rows+r.unjudged.rows
	} else {
		for p, err := range r.problems() {
			if err != nil {
				return err
			}
			s.Rejected = append(s.Rejected, p)
		}
	}
	sale := &page.Sale{Screen: s, Evaluator: e, List: listName(path)}
	if err := r.s.page(r.html, func(w io.Writer) error { return sale.HTML(ctx, w) }); err != nil {
		return err
	}
	return r.out.write(s)
}
