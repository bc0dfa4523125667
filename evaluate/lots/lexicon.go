package lots

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"wreckoner/damage/listing"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Lexicon is what listings are read by.
type Lexicon struct {
	*listing.Lexicon
	// Extras are the columns of a lot list that the words may fill, such as keys.
	Extras []string
	// BuiltIn says that the starter is used.
	BuiltIn bool
}

// lexiconRow is one row of lexicon.csv.
type lexiconRow struct {
	Words  tabular.Cell `csv:"words"`
	Kind   tabular.Cell `csv:"kind"`
	Means  tabular.Cell `csv:"means,omitempty"`
	Class  tabular.Cell `csv:"class,omitempty"`
	Grade  tabular.Cell `csv:"grade,omitempty"`
	Level  tabular.Cell `csv:"level,omitempty"`
	Chance tabular.Cell `csv:"chance,omitempty"`
	Role   tabular.Cell `csv:"role,omitempty"`
	Note   tabular.Cell `csv:"note,omitempty"`
}

// ReadLexicon reads lexicon.csv of a shop folder; the starter's is used where the
// folder, or "", has none. With problems there is no lexicon.
func ReadLexicon(folder string) (l *Lexicon, problems []tabular.Problem, notices []string, err error) {
	if folder != "" {
		path := filepath.Join(folder, shop.LexiconFile)
		f, err := os.Open(path)
		if err == nil {
			defer f.Close()
			return readLexicon(path, f)
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return nil, nil, nil, err
		}
	}
	l, problems, _, err = readLexicon("starter "+shop.LexiconFile, strings.NewReader(listing.StarterCSV()))
	if l != nil {
		l.BuiltIn = true
	}
	return l, problems, nil, err
}

func readLexicon(file string, r io.Reader) (*Lexicon, []tabular.Problem, []string, error) {
	var rows []listing.Row
	var problems []tabular.Problem
	places := map[int]tabular.Place{}
	t, err := tabular.ReadAll(tabular.NewCSV(file, r), &problems, func(v *lexiconRow, k *tabular.Check) {
		places[k.Line] = k.Place
		rows = append(rows, v.entry(k.Line))
	})
	if t == nil || err != nil {
		return nil, problems, nil, err
	}
	l := &Lexicon{Extras: extrasOf(rows)}
	notices := append(t.Notices(), t.Ignored()...)
	if len(rows) == 0 && len(problems) == 0 {
		problems = append(problems, tabular.Problem{File: file, Line: 1,
			Message: "has a header and no rows; remove the file to use the starter's"})
	}
	if len(problems) > 0 {
		return nil, problems, notices, nil
	}
	if l.Lexicon, err = listing.New(rows); err != nil {
		for _, err := range flat(err) {
			problems = append(problems, lexiconProblem(file, places, err))
		}
		return nil, problems, notices, nil
	}
	return l, nil, notices, nil
}

// entry returns the row as the lexicon takes it.
func (v *lexiconRow) entry(line int) listing.Row {
	return listing.Row{
		Line: line, Words: v.Words.Text(), Kind: v.Kind.Text(), Means: v.Means.Text(), Class: v.Class.Text(),
		Grade: v.Grade.Text(), Level: v.Level.Text(), Chance: v.Chance.Text(), Role: v.Role.Text(), Note: v.Note.Text(),
	}
}

// extrasOf returns the columns that the rows of kind extra fill, sorted.
func extrasOf(rows []listing.Row) (columns []string) {
	for _, r := range rows {
		column, _, ok := strings.Cut(r.Means, "=")
		if !ok || !strings.EqualFold(r.Kind, "extra") {
			continue
		}
		if column = strings.TrimSpace(column); !slices.Contains(columns, column) {
			columns = append(columns, column)
		}
	}
	slices.Sort(columns)
	return columns
}

// flat returns the errors that were joined into one.
func flat(err error) []error {
	if many, ok := err.(interface{ Unwrap() []error }); ok {
		var all []error
		for _, e := range many.Unwrap() {
			all = append(all, flat(e)...)
		}
		return all
	}
	return []error{err}
}

func lexiconProblem(file string, places map[int]tabular.Place, err error) tabular.Problem {
	var fault *listing.Fault
	if !errors.As(err, &fault) {
		return tabular.Problem{File: file, Message: err.Error()}
	}
	place, ok := places[fault.Line]
	switch {
	case !ok:
		return tabular.Problem{File: file, Line: fault.Line, Column: fault.Column, Message: fault.Problem}
	case fault.Column == "":
		return place.Whole(errors.New(fault.Problem))
	}
	return place.At(fault.Column, errors.New(fault.Problem))
}
