package listing

import (
	_ "embed" // the starter lexicon
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"sync"
)

//go:embed lexicon.csv
var starterCSV string

// StarterCSV returns the built-in lexicon as the file that a shop folder may
// hold and edit.
func StarterCSV() string { return starterCSV }

// Columns are the columns of a lexicon file, in the order in which the starter
// has them.
func Columns() []string {
	return []string{"words", "kind", "means", "class", "grade", "level", "chance", "note"}
}

var starter = sync.OnceValue(func() *Lexicon {
	rows, err := starterRows(strings.NewReader(starterCSV))
	if err == nil {
		var l *Lexicon
		if l, err = New(rows); err == nil {
			return l
		}
	}
	// The file is part of the program, and a test reads it.
	panic("listing: lexicon.csv: " + err.Error())
})

// Starter returns the built-in lexicon.
func Starter() *Lexicon { return starter() }

func starterRows(in io.Reader) ([]Row, error) {
	r := csv.NewReader(in)
	r.FieldsPerRecord = len(Columns())
	if _, err := r.Read(); err != nil {
		return nil, err
	}
	var rows []Row
	for {
		f, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := r.FieldPos(0)
		rows = append(rows, Row{line, f[0], f[1], f[2], f[3], f[4], f[5], f[6], f[7]})
	}
}
