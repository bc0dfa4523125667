package main

import (
	"fmt"
	"io"
	"iter"
	"path/filepath"
	"strings"

	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular"
)

// rejectsFiles are where the rejected rows of each list go: of one list the file that was named; of several, whose
// columns differ, a file each, with the list's own name behind that: rejected-monday.csv.
func rejectsFiles(named string, lists []string) []string {
	if named == "" || len(lists) == 1 {
		return []string{named}
	}
	files, taken := make([]string, len(lists)), map[string]bool{}
	ending := filepath.Ext(named)
	for i, list := range lists {
		name := strings.TrimSuffix(filepath.Base(list), filepath.Ext(list))
		if list == "-" {
			name = "input"
		}
		base := strings.TrimSuffix(named, ending) + "-" + name
		files[i] = base + ending
		for n := 2; taken[files[i]]; n++ {
			files[i] = fmt.Sprintf("%s-%d%s", base, n, ending)
		}
		taken[files[i]] = true
	}
	return files
}

// writeRejects writes the rejected rows, where that was asked for. Of several lists only those that have any get a
// file, and which is said.
func (r *ranking) writeRejects() error {
	if r.rejects == "" {
		return nil
	}
	lists := r.lots.Each()
	names := make([]string, len(lists))
	for i, l := range lists {
		names[i] = l.File()
	}
	files := rejectsFiles(r.rejects, names)
	counts := make([]int, len(lists))
	for row, err := range r.rejected() {
		if err != nil {
			return err
		}
		counts[row.List]++
	}
	for i, l := range lists {
		if len(lists) > 1 && counts[i] == 0 {
			continue
		}
		if err := r.s.whole(files[i], func(w io.Writer) error { return l.WriteRejects(w, r.rejectedOf(i)) }); err != nil {
			return err
		}
		if len(lists) > 1 {
			r.s.notice([]string{fmt.Sprintf("%s: %s written to %s", names[i],
				tabular.Counted(counts[i], "rejected row is", "rejected rows are"), files[i])})
		}
	}
	return nil
}

// rejectedOf yields the rejected rows of one of the lists.
func (r *ranking) rejectedOf(list int) iter.Seq2[lots.Rejected, error] {
	return func(yield func(lots.Rejected, error) bool) {
		for row, err := range r.rejected() {
			if (err != nil || row.List == list) && (!yield(row, err) || err != nil) {
				return
			}
		}
	}
}
