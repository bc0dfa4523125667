package main

import (
	"io"
	"strings"

	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/page"
)

// planPage writes the page of a plan.
func planPage(w io.Writer, r *report.Plan, paths []string) error {
	names := make([]string, len(paths))
	for i, path := range paths {
		names[i] = listName(path)
	}
	return page.Plan(w, r, strings.Join(names, ", "))
}
