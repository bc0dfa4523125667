package report

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"wreckoner/evaluate/tabular"
)

// A Workbook writes one sheet of an .xlsx workbook, row by row: numbers as
// numbers, text as text that no spreadsheet runs, the header frozen and with
// filters. Beyond a few MiB the rows wait in a temporary file. Close it in any
// case.
type Workbook struct {
	file    *excelize.File
	stream  *excelize.StreamWriter
	name    string
	styles  [3]int // of the header, wrapped text, amounts
	amounts []bool
	columns int
	rows    int
	carried bool // texts stay as they are, but for what XML cannot hold
}

// most are the limits of a sheet: ECMA-376 leaves them to programs, of which the
// common ones stop here.
const (
	mostRows  = 1_048_576
	mostUnits = 32_767 // UTF-16 units in a cell
)

const (
	headStyle = iota
	textStyle
	amountStyle
)

// NewWorkbook begins a workbook with a sheet of that name and its header. widths
// are in characters; a column without one gets that of its header. amounts tells
// the columns whose numbers are shown with thousands grouped and two decimals.
func NewWorkbook(sheet string, header []string, widths []int, amounts []bool) (*Workbook, error) {
	w := &Workbook{file: newFile(), name: sheet, columns: len(header), amounts: amounts}
	if err := w.begin(header, widths); err != nil {
		return nil, errors.Join(err, w.Close())
	}
	return w, nil
}

// What a workbook says of itself (ECMA-376, part 2, core properties, and part 1,
// extended properties): who wrote it, and no date, as the same input gives the same bytes.
const (
	coreProperties = xml.Header +
		`<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties"` +
		` xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:creator>wreckoner</dc:creator></cp:coreProperties>`
	extendedProperties = xml.Header +
		`<Properties xmlns="http://schemas.openxmlformats.org/officeDocument/2006/extended-properties">` +
		`<Application>wreckoner</Application></Properties>`
)

// newFile returns an empty workbook with our properties in the place of the library's.
func newFile() *excelize.File {
	f := excelize.NewFile()
	f.Pkg.Store("docProps/core.xml", []byte(coreProperties))
	f.Pkg.Store("docProps/app.xml", []byte(extendedProperties))
	return f
}

func (w *Workbook) begin(header []string, widths []int) (err error) {
	if err := w.file.SetSheetName("Sheet1", w.name); err != nil {
		return err
	}
	grouped := "#,##0.00"
	for i, style := range []*excelize.Style{
		headStyle:   {Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}},
		textStyle:   {Alignment: &excelize.Alignment{Vertical: "top", WrapText: true}},
		amountStyle: {CustomNumFmt: &grouped},
	} {
		if w.styles[i], err = w.file.NewStyle(style); err != nil {
			return err
		}
	}
	if w.stream, err = w.file.NewStreamWriter(w.name); err != nil {
		return err
	}
	if err := w.stream.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2",
		ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	for i, head := range header {
		width := utf8.RuneCountInString(head)
		if i < len(widths) {
			width = max(min(width, 12), widths[i])
		}
		if err := w.stream.SetColWidth(i+1, i+1, float64(min(max(width+2, 6), 60))); err != nil {
			return err
		}
	}
	cells := make([]any, len(header))
	for i, head := range header {
		cells[i] = head
	}
	return w.row(cells, w.styles[headStyle])
}

// Row adds a row of strings, float64s, ints and nils. A text beyond what a cell
// holds is an error, for it would be cut.
func (w *Workbook) Row(values []any) error { return w.row(values, 0) }

func (w *Workbook) row(values []any, style int) error {
	if w.rows == mostRows {
		return fmt.Errorf("a sheet ends at row %d; write CSV, which has no end", mostRows)
	}
	w.rows++
	cells := make([]any, len(values))
	for i, v := range values {
		switch v := v.(type) {
		case string:
			text := CleanLines(v)
			if w.carried {
				text = holdable(v)
			}
			if units := len(utf16.Encode([]rune(text))); units > mostUnits {
				return fmt.Errorf("row %d, column %d: a cell of a sheet holds %d characters, and this text has %d; write CSV, "+
					"or cut it down", w.rows, i+1, mostUnits, units)
			}
			c := excelize.Cell{StyleID: style, Value: text}
			if style == 0 && strings.Contains(text, "\n") {
				c.StyleID = w.styles[textStyle]
			}
			if text != "" {
				cells[i] = c
			}
		case float64:
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("row %d, column %d: %v is not a number that a sheet can hold", w.rows, i+1, v)
			}
			c := excelize.Cell{Value: v}
			if i < len(w.amounts) && w.amounts[i] {
				c.StyleID = w.styles[amountStyle]
			}
			cells[i] = c
		case int:
			cells[i] = v
		}
	}
	return w.stream.SetRow(fmt.Sprintf("A%d", w.rows), cells)
}

// SheetName returns a name that a sheet may have: no more than 31 characters, none
// of :\/?*[] and no ' at either end.
func SheetName(name string) string {
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(`:\/?*[]`, r) || r < ' ' {
			return ' '
		}
		return r
	}, name)
	runes := []rune(strings.Trim(name, "' "))
	if len(runes) > 31 {
		runes = []rune(strings.Trim(string(runes[:31]), "' "))
	}
	if len(runes) == 0 {
		return "lots"
	}
	return string(runes)
}

// holdable spells out the characters that XML cannot hold (XML 1.0, 2.2).
func holdable(text string) string {
	bad := func(r rune) bool {
		return r < ' ' && r != '\t' && r != '\n' || r == 0xFFFE || r == 0xFFFF || r == utf8.RuneError
	}
	if strings.IndexFunc(text, bad) < 0 {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		if bad(r) {
			b.WriteString(tabular.Sanitise(string(r)))
		} else {
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Finish ends the sheet and writes the workbook.
func (w *Workbook) Finish(out io.Writer) error {
	last, err := excelize.ColumnNumberToName(max(1, w.columns))
	if err != nil {
		return err
	}
	if err := w.file.AutoFilter(w.name, fmt.Sprintf("A1:%s%d", last, w.rows), nil); err != nil {
		return err
	}
	if err := w.stream.Flush(); err != nil {
		return err
	}
	return w.file.Write(out)
}

// Close removes what waits in temporary files.
func (w *Workbook) Close() error { return w.file.Close() }

// Workbook writes the records as an .xlsx workbook with one sheet.
func (r *Records) Workbook(out io.Writer, sheet string) (err error) {
	header := make([]string, len(r.Columns))
	widths := make([]int, len(r.Columns))
	amounts := make([]bool, len(r.Columns))
	for i, c := range r.Columns {
		header[i] = c.Name
	}
	for _, row := range r.Rows {
		for i, v := range row {
			width := 0
			switch v := v.(type) {
			case string:
				for line := range strings.SplitSeq(v, "\n") {
					width = max(width, utf8.RuneCountInString(tabular.Sanitise(line)))
				}
			case float64:
				amounts[i] = amounts[i] || math.Abs(v) >= 10
				width = len(r.cell(i, v, false))
			}
			widths[i] = max(widths[i], width)
		}
	}
	w, err := NewWorkbook(sheet, header, widths, amounts)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, w.Close()) }()
	for _, row := range r.Rows {
		if err := w.Row(row); err != nil {
			return err
		}
	}
	return w.Finish(out)
}
