// Package tabular reads and writes tables. It reads the rows of a CSV file or, through the same
// Source, a sheet. It finds the columns by their headers, keeps for every row the
// line and the text, and reports what cannot be read without losing what can. What
// the columns mean is its callers' business.
//
//	t, err := tabular.Open(tabular.NewCSV("lots.csv", f), tabular.Options{Columns: columns})
//	...
//	for row, err := range tabular.Read[lotRow](t) {
//		if err != nil { // the file cannot be read on
//			return err
//		}
//		if row.Problem != nil { // this row cannot be read
//			...
//		}
//		year, err := row.Values.Year.Int(1900, 2100)
//		if err != nil {
//			problems = append(problems, row.At("year", err))
//		}
//	}
//
// Output files are written whole or not at all: whoever reads the name finds the
// old content or all of the new, whatever goes wrong in between.
package tabular

// A Source yields the records of one table, the header first.
type Source interface {
	// Next returns the next record that is not blank, and io.EOF after the last.
	// Any other error means that the source cannot be read on.
	Next() (Record, error)
	// Place returns the file's name and, for a spreadsheet, the sheet's.
	Place() (file, sheet string)
	// Notices says what was guessed or passed over so far, each with the file's
	// name. They are complete after the last tabular.
	Notices() []string
}

// A Record is one row as it stands in the file.
type Record struct {
	// Line is where the record starts, as an editor counts from 1, or the sheet's
	// row. Lines is how many lines it takes up.
	Line, Lines int
	// Raw is the record as it was, without its last line end, in UTF-8. That of a
	// line over Longest is cut there.
	Raw string
	// Cells has one cell per header, untrimmed. A line break within a cell is LF.
	Cells []string
	// Fault says what is wrong and what to do about it. Then Cells is nil, and
	// Found is the offending text, perhaps cut.
	Fault, Found string
}
