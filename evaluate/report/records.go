package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"wreckoner/evaluate/money"
)

// Records are flat rows for programs and spreadsheets. A value is a string, a
// float64, an int, or nil for nothing.
type Records struct {
	Columns []Field
	Rows    [][]any
}

// A Field is a column of records.
type Field struct {
	Name string
	// Text says that the values come from people: in CSV, what a spreadsheet
	// would run as a formula is then made harmless.
	Text bool
}

// Guard says whether text that a spreadsheet would run is prefixed with '.
type Guard bool

// CSV writes the records with a header.
func (r *Records) CSV(w io.Writer, guard Guard) error {
	out := csv.NewWriter(w)
	row := make([]string, len(r.Columns))
	for i, c := range r.Columns {
		row[i] = c.Name
	}
	if err := out.Write(row); err != nil {
		return err
	}
	for _, values := range r.Rows {
		for i, v := range values {
			row[i] = r.cell(i, v, guard)
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func (r *Records) cell(i int, v any, guard Guard) string {
	switch v := v.(type) {
	case string:
		if r.Columns[i].Text && bool(guard) {
			return harmless(v)
		}
		return v
	case float64:
		return money.Plain(v)
	case int:
		return strconv.Itoa(v)
	}
	return ""
}

// harmless prefixes text that a spreadsheet would take for a formula: OWASP,
// Application Security Verification Standard 1.2.10.
func harmless(text string) string {
	if strings.HasPrefix(text, "=") || strings.HasPrefix(text, "+") || strings.HasPrefix(text, "-") ||
		strings.HasPrefix(text, "@") ||
		strings.HasPrefix(text, "\t") || strings.HasPrefix(text, "\r") || strings.HasPrefix(text, "\x00") {
		return "'" + text
	}
	return text
}

func orNil[T any](p *T) any {
	if p == nil {
		return nil
	}
	return *p
}

// cents rounds to hundredths, share to millionths: what lies below is noise.
func cents(x float64) float64 { return tidy(math.Round(x*100) / 100) }
func share(x float64) float64 { return tidy(math.Round(x*1e6) / 1e6) }

// Tenths writes a plain number for reading, to the tenth.
func Tenths(x float64) string { return money.Plain(tidy(math.Round(x*10) / 10)) }

// tidy turns minus zero into zero.
func tidy(x float64) float64 {
	if x == 0 {
		return 0
	}
	return x
}
