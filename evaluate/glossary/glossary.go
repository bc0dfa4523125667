// Package glossary holds the words that wreckoner uses: for each thing its one name, what it means, and the words that
// are not used for it. Help and pages print it, and a test of cmd/wreckoner holds every text that people read to it.
package glossary

import (
	_ "embed"
	"slices"

	"github.com/gocarina/gocsv"
)

//go:embed glossary.csv
var termsCSV string

// Term is one name, what it means to the reader, and the words that are not used for it, with | between them.
type Term struct {
	Term    string `csv:"term"`
	Meaning string `csv:"meaning"`
	Never   string `csv:"never"`
}

var terms = func() (all []Term) {
	if err := gocsv.UnmarshalString(termsCSV, &all); err != nil {
		panic("glossary: " + err.Error())
	}
	return all
}()

// Terms returns the glossary in the order in which it is printed.
func Terms() []Term { return slices.Clone(terms) }
