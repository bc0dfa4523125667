package report_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"wreckoner/evaluate/report"
	"wreckoner/evaluate/tabular"
)

func records() *report.Records {
	return &report.Records{
		Columns: []report.Field{{Name: "lot", Text: true}, {Name: "make", Text: true}, {Name: "rank"}, {Name: "margin"},
			{Name: "chance"}},
		Rows: [][]any{
			{"0042", `=HYPERLINK("http://example.com","click")`, 1, 1234.5, 0.25},
			{"B2", "two\nlines \x1b[31m \u202eevil", nil, -12.0, nil},
			{"", "+44", 3, 0.0, 1.0},
		},
	}
}

// A spreadsheet finds text where text was, a formula never, and numbers as
// numbers; excelize, which reads them here, is the reference library.
func TestWorkbook(t *testing.T) {
	var b bytes.Buffer
	if err := records().Workbook(&b, "screen"); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}()
	for _, cell := range []string{"A2", "B2", "B3", "B4", "C2", "D2"} {
		if formula, err := f.GetCellFormula("screen", cell); err != nil || formula != "" {
			t.Errorf("%s is the formula %q, %v", cell, formula, err)
		}
		kind, err := f.GetCellType("screen", cell)
		if err != nil {
			t.Fatal(err)
		}
		text := kind == excelize.CellTypeInlineString || kind == excelize.CellTypeSharedString
		if want := cell[0] < 'C'; text != want {
			t.Errorf("%s: text %v, want %v", cell, text, want)
		}
	}
	rows, err := f.GetRows("screen", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{{"lot", "make", "rank", "margin", "chance"},
		{"0042", `=HYPERLINK("http://example.com","click")`, "1", "1234.5", "0.25"},
		{"B2", "two\nlines \\x1b[31m \\u202eevil", "", "-12"}, {"", "+44", "3", "0", "1"}}
	if diff := cmp.Diff(want, rows); diff != "" {
		t.Error(diff)
	}
	panes, err := f.GetPanes("screen")
	if err != nil || !panes.Freeze || panes.YSplit != 1 {
		t.Errorf("the header is not frozen: %+v, %v", panes, err)
	}
	if shown, err := f.GetCellValue("screen", "D2"); err != nil || shown != "1,234.50" {
		t.Errorf("the amount is shown as %q, %v", shown, err)
	}
	names := f.GetDefinedName()
	if len(names) != 1 || !strings.HasSuffix(names[0].RefersTo, "$A$1:$E$4") {
		t.Errorf("no filter over all rows: %+v", names)
	}
	if width, err := f.GetColWidth("screen", "B"); err != nil || width < 30 || width > 60 {
		t.Errorf("width %v, %v", width, err)
	}
}

// What is written comes back through our own reader; the same records give the
// same bytes.
func TestWorkbookComesBack(t *testing.T) {
	var b, again bytes.Buffer
	for _, out := range []*bytes.Buffer{&b, &again} {
		if err := records().Workbook(out, "screen"); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Error("the same records give other bytes")
	}
	s, err := tabular.OpenWorkbook("out.xlsx", bytes.NewReader(b.Bytes()), int64(b.Len()), "screen")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for {
		r, err := s.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, strings.Join(r.Cells, "|"))
	}
	want := []string{"lot|make|rank|margin|chance", `0042|=HYPERLINK("http://example.com","click")|1|1234.5|0.25`,
		"B2|two\nlines \\x1b[31m \\u202eevil||-12|", "|+44|3|0|1"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What a sheet cannot hold is an error, never cut.
func TestWorkbookLimits(t *testing.T) {
	for _, value := range []any{strings.Repeat("é", 32768), math.NaN(), math.Inf(1)} {
		r := &report.Records{Columns: []report.Field{{Name: "x"}}, Rows: [][]any{{value}}}
		if err := r.Workbook(io.Discard, "x"); err == nil {
			t.Errorf("%.10v was written", value)
		}
	}
	r := &report.Records{Columns: []report.Field{{Name: "x"}}, Rows: [][]any{{strings.Repeat("é", 32767)}}}
	if err := r.Workbook(io.Discard, "x"); err != nil {
		t.Error(err)
	}
}

// A workbook names us as its author and program and no date; so does the sample. Nothing
// in any part of it names the library that wrote it.
func TestWorkbookProperties(t *testing.T) {
	var b bytes.Buffer
	if err := records().Workbook(&b, "screen"); err != nil {
		t.Fatal(err)
	}
	sample, err := os.ReadFile("../../samples/listing.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	for name, book := range map[string][]byte{"written": b.Bytes(), "sample": sample} {
		z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range z.File {
			r, err := part.Open()
			if err != nil {
				t.Fatal(err)
			}
			text, err := io.ReadAll(r)
			if err := errors.Join(err, r.Close()); err != nil {
				t.Fatal(err)
			}
			for _, word := range []string{"xuri", "xcelize", "2006-09-16", "dcterms"} {
				if bytes.Contains(text, []byte(word)) {
					t.Errorf("%s: %s holds %q", name, part.Name, word)
				}
			}
			want := map[string]string{"docProps/core.xml": "<dc:creator>wreckoner</dc:creator>",
				"docProps/app.xml": "<Application>wreckoner</Application>"}[part.Name]
			if !bytes.Contains(text, []byte(want)) {
				t.Errorf("%s: %s is %s", name, part.Name, text)
			}
		}
		f, err := excelize.OpenReader(bytes.NewReader(book))
		if err != nil {
			t.Fatal(err)
		}
		if p, err := f.GetDocProps(); err != nil || p.Creator != "wreckoner" || p.Created != "" || p.Modified != "" {
			t.Errorf("%s: properties %+v, %v", name, p, err)
		}
		if err := f.Close(); err != nil {
			t.Error(err)
		}
	}
}
