package main

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

// keptFiles are frozen estimates, as far as they can be read, beside the ledger.
type keptFiles struct {
	frozen []*build.Frozen
	ledger *build.Ledger
	// said is what does not fit; bad that a file or a row could not be read.
	said     []string
	bad      bool
	currency string
}

// kept reads frozen estimates and the ledger. What cannot be read, what has the name of
// another and what is in another currency is said and left out, and the rest is read.
func (s *streams) kept(paths []string, ledger string, columns *ledgerOptions, quiet bool) (*keptFiles, error) {
	if n := len(slices.DeleteFunc(append(slices.Clone(paths), ledger), func(p string) bool { return p != "-" })); n > 1 {
		return nil, usagef("only one of the files can be standard input")
	}
	k := &keptFiles{}
	at := map[string]string{}
	files, faults := s.allFrozen(paths)
	for i, path := range paths {
		f := files[i]
		if faults[i] != nil {
			fmt.Fprintln(s.err, report.CleanLines(faults[i].Error()))
			k.bad = true
			continue
		}
		key := tabular.NameKey(f.Build)
		first, dup := at[key]
		switch {
		case dup:
			k.said = append(k.said,
				fmt.Sprintf("%s is called %q, and so is %s: two cars cannot have the same name in the ledger; only the first "+
					"counts", path, f.Build, first))
			continue
		case k.currency != "" && f.Shop().Currency != k.currency:
			k.said = append(k.said, fmt.Sprintf("%s is in %s, the others in %s: it is not counted", path, f.Shop().Currency,
				k.currency))
			continue
		}
		at[key], k.currency = path, f.Shop().Currency
		k.frozen = append(k.frozen, f)
	}
	if len(k.frozen) == 0 {
		return nil, errors.New("none of the files is an estimate that can be read; wreckoner freeze writes them")
	}
	var err error
	if k.ledger, err = s.ledger(ledger, columns, k.frozen, quiet); err != nil {
		return nil, err
	}
	k.bad = k.bad || len(k.ledger.Problems) > 0
	if n := k.ledger.Unplaced; n > 0 {
		k.said = append(k.said, fmt.Sprintf("%s could not be read, so some car is missing what was spent",
			tabular.Count(n, "ledger row")))
	}
	s.against(k.ledger, quiet, k.frozen...)
	return k, nil
}

// allFrozen reads frozen estimates, several at once; each has its own error.
func (s *streams) allFrozen(paths []string) ([]*build.Frozen, []error) {
	files, faults := make([]*build.Frozen, len(paths)), make([]error, len(paths))
	var reader build.Reader
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(len(paths), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(paths); i = int(next.Add(1)) - 1 {
				files[i], faults[i] = s.frozenBy(&reader, paths[i])
			}
		})
	}
	wait.Wait()
	return files, faults
}

func (s *streams) frozenBy(reader *build.Reader, path string) (f *build.Frozen, err error) {
	r, name, err := s.open(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	return reader.Read(name, r)
}

// dayOption reads a date option; zero where it is not given.
func dayOption(option, text string) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return t, usagef("%s %q is not a date; write one such as 2026-04-30", option, text)
	}
	return t, nil
}
