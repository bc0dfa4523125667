package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"strings"

	"github.com/spf13/pflag"

	"wreckoner/evaluate"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/simulate"
	"wreckoner/evaluate/tabular"
)

// shopOption names the shop folder.
type shopOption struct{ folder string }

func (o *shopOption) flags(f *pflag.FlagSet) {
	f.StringVar(&o.folder, "shop", os.Getenv("WRECKONER_SHOP"),
		"your shop folder `DIR`; without it $WRECKONER_SHOP, or the built-in starter")
}

// load reads the shop, and reports every fault and notice.
func (o *shopOption) load(s *streams, quiet bool) (*shop.Shop, error) {
	workshop, problems, notices, err := shop.Read(o.folder)
	if err != nil {
		return nil, err
	}
	s.report(problems)
	if !quiet {
		s.notice(notices)
	}
	if len(problems) > 0 {
		return nil, errReported
	}
	return workshop, nil
}

// report prints problems, one a line.
func (s *streams) report(problems []tabular.Problem) {
	for _, p := range problems {
		if p.Shared {
			p.Line = 0
			if s.shared[p.Error()] {
				continue
			}
			if s.shared == nil {
				s.shared = map[string]bool{}
			}
			s.shared[p.Error()] = true
		}
		fmt.Fprintln(s.err, p.Error())
	}
}

// notice prints what was guessed or skipped.
func (s *streams) notice(notices []string) {
	for _, n := range notices {
		fmt.Fprintln(s.err, tabular.Sanitise(n))
	}
}

// mapOption says which columns have other names in a list.
type mapOption struct {
	columns map[string]string
}

func (o *mapOption) flags(f *pflag.FlagSet) {
	f.StringToStringVar(&o.columns, "map", nil, "`COLUMN=\"Header\"`: the file's own name for a column; may be repeated")
}

// engineOptions say how lots are evaluated.
type engineOptions struct {
	seed    uint64
	points  int
	workers int
}

func (o *engineOptions) flags(f *pflag.FlagSet) {
	f.Uint64Var(&o.seed, "seed", 1, "`N` picks the simulated cars; the same seed gives the same figures")
	f.IntVar(&o.points, "points", 0,
		"simulate `N` cars a lot instead (64, 128 ... 8192), as a check; without it the figures are worked out exactly "+
			"where they can be")
	f.IntVar(&o.workers, "workers", runtime.GOMAXPROCS(0),
		"work on `N` lots at once; changes no figure; without it, as many as the computer has processors")
}

func (o *engineOptions) options() (evaluate.Options, error) {
	if err := simulate.CheckPoints(o.points); err != nil && o.points != 0 {
		return evaluate.Options{}, usageError{fmt.Errorf("--points: %w", err)}
	}
	if o.workers < 1 {
		return evaluate.Options{}, usagef("--workers %d: write 1 or more", o.workers)
	}
	return evaluate.Options{Points: o.points, Seed: o.seed, Workers: o.workers}, nil
}

// open opens an input; - is standard input. Reading it ends where the run is
// interrupted.
func (s *streams) open(path string) (io.ReadCloser, string, error) {
	if path == "-" {
		return io.NopCloser(&piped{Reader: s.in, ctx: s.ctx}), "standard input", nil
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, "", plainError(err)
	}
	if info.IsDir() {
		return nil, "", fmt.Errorf("%s is a folder; name a file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, "", plainError(err)
	}
	if info.Mode().IsRegular() {
		return &regular{file: f, ctx: s.ctx, size: info.Size()}, path, nil
	}
	return struct {
		io.Reader
		io.Closer
	}{&piped{Reader: f, ctx: s.ctx}, f}, path, nil
}

// plainError says an operating system's error without the system call's name.
func plainError(err error) error {
	if p, ok := err.(*os.PathError); ok {
		if openElsewhere(p.Err) {
			return fmt.Errorf("%s: is open in another program, such as a spreadsheet; close it there, and try again", p.Path)
		}
		return fmt.Errorf("%s: %w", p.Path, p.Err)
	}
	return err
}

// deliver writes to standard output, or to the file whole or not at all.
func (o *output) deliver(write func(io.Writer) error) error {
	if o.file == "" {
		if err := write(&until{o.s.ctx, o.s.out}); err != nil {
			return fmt.Errorf("standard output: %w", withoutCall(err))
		}
		return nil
	}
	return o.s.whole(o.file, write)
}

// whole writes a file whole or not at all; where the run is interrupted, not at
// all.
func (s *streams) whole(path string, write func(io.Writer) error) error {
	return tabular.Write(path, func(w io.Writer) error {
		if err := write(&until{s.ctx, w}); err != nil {
			return err
		}
		return s.ctx.Err()
	})
}

// fresh is whole for a file that must not be there yet.
func (s *streams) fresh(path string, write func(io.Writer) error) error {
	return tabular.WriteNew(path, func(w io.Writer) error {
		if err := write(&until{s.ctx, w}); err != nil {
			return err
		}
		return s.ctx.Err()
	})
}

// until writes until the run is interrupted.
type until struct {
	ctx context.Context
	io.Writer
}

func (u *until) Write(p []byte) (int, error) {
	if err := u.ctx.Err(); err != nil {
		return 0, err
	}
	return u.Writer.Write(p)
}

// withoutCall leaves out the system call and its file, which is no user's.
func withoutCall(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// single reports whether several outputs or inputs share one file.
func single(paths ...string) error {
	seen := map[string]bool{}
	for _, p := range paths {
		if p == "" || p == "-" {
			continue
		}
		if key := strings.TrimPrefix(p, "./"); seen[key] {
			return usagef("%s is named twice; a file that is read is never overwritten", p)
		} else {
			seen[key] = true
		}
	}
	return nil
}
