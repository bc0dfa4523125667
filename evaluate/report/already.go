package report

import (
	"fmt"
	"slices"
	"strings"

	"wreckoner/evaluate/shop"
)

// Known says where the builds are named that are not counted again: "learned.csv", "builds.csv" or both.
func (l *Lesson) Known() string {
	var files []string
	if len(l.Skipped) > 0 {
		files = append(files, shop.LearnedFile)
	}
	if len(l.Listed) > 0 {
		files = append(files, shop.BuildsFile)
	}
	return strings.Join(files, " and ")
}

// skipped is every build that is not counted again.
func (l *Lesson) skipped() []string { return slices.Concat([]string{}, l.Skipped, l.Listed) }

// already says which builds are not counted again, and why.
func (l *Lesson) already() (out []string) {
	if len(l.Skipped) > 0 {
		out = append(out, fmt.Sprintf("Learned from before, and not counted again: %s.",
			strings.Join(CleanAll(l.Skipped), ", ")))
	}
	if len(l.Listed) > 0 {
		out = append(out, fmt.Sprintf("In %s already, so taken as learned from before and not counted again: %s. If a "+
			"row was typed in and its costs never learned, take it out of %s and learn again.", shop.BuildsFile,
			strings.Join(CleanAll(l.Listed), ", "), shop.BuildsFile))
	}
	return out
}
