package main

import (
	"path/filepath"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/evidence"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// already holds the builds that a shop folder was learned from: those of its learned.csv, and those of its builds.csv.
type already struct {
	learned []shop.Learned
	builds  map[string]bool
}

// already reads both files. Rows of them that cannot be read are reported and are an error: a build might be counted
// twice.
func (c *learner) already(workshop *shop.Shop) (*already, error) {
	learned, problems, err := shop.ReadLearned(c.shop.folder)
	if err != nil {
		return nil, plainError(err)
	}
	files, err := evidence.Read(c.shop.folder, workshop)
	if err != nil {
		return nil, plainError(err)
	}
	for _, p := range files.Problems {
		if filepath.Base(p.File) == shop.BuildsFile {
			problems = append(problems, p)
		}
	}
	if c.s.report(problems); len(problems) > 0 {
		return nil, errReported
	}
	a := &already{learned: learned, builds: map[string]bool{}}
	for _, b := range files.Builds {
		a.builds[tabular.NameKey(b.Name)] = true
	}
	return a, nil
}

// fresh returns the outcomes that the folder was not learned from, and the names of the others by the file that has
// them: learned.csv, or else builds.csv.
func (a *already) fresh(all []*build.Outcome) (fresh []*build.Outcome, learned, listed []string) {
	for _, o := range all {
		switch {
		case shop.Knows(a.learned, o.Build.Name, o.Frozen.Digest):
			learned = append(learned, o.Build.Name)
		case a.builds[tabular.NameKey(o.Build.Name)]:
			listed = append(listed, o.Build.Name)
		default:
			fresh = append(fresh, o)
		}
	}
	return fresh, learned, listed
}
