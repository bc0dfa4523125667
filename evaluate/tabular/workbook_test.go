package tabular_test

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"wreckoner/evaluate/tabular"
)

// workbook writes a workbook by excelize, the reference library.
func workbook(t testing.TB, fill func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	fill(f)
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func set(t testing.TB, f *excelize.File, cell string, values ...any) {
	t.Helper()
	if err := f.SetSheetRow("Sheet1", cell, &values); err != nil {
		t.Fatal(err)
	}
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func openBook(t testing.TB, book []byte, name string) *tabular.Workbook {
	t.Helper()
	s, err := tabular.OpenWorkbook("sale.xlsx", bytes.NewReader(book), int64(len(book)), name)
	must(t, err)
	return s
}

// all returns the cells of every record; a fault stands in place of the cells.
func rowsOf(t testing.TB, s tabular.Source) [][]string {
	t.Helper()
	var rows [][]string
	for {
		r, err := s.Next()
		if err == io.EOF {
			return rows
		}
		must(t, err)
		if r.Fault != "" {
			r.Cells = []string{fmt.Sprint(r.Line), r.Fault}
		}
		rows = append(rows, r.Cells)
	}
}

// What a person sees in the cells comes out, not what the file has of them. The
// values beside the dates are those of ECMA-376 part 1, 18.17.4.1 (the 1900 date
// system: 1 is 1900-01-01, 61 is 1900-03-01).
func TestValues(t *testing.T) {
	book := workbook(t, func(f *excelize.File) {
		style := func(format string) int {
			id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
			must(t, err)
			return id
		}
		builtIn := func(n int) int {
			id, err := f.NewStyle(&excelize.Style{NumFmt: n})
			must(t, err)
			return id
		}
		set(t, f, "A1", "what", "is")
		for i, c := range []struct {
			value any
			style int
		}{
			{1250, 0}, {1250.5, 0}, {0.1 + 0.2, 0}, {1e15, 0}, {-3, 0}, {12345, builtIn(4)}, {0.2, builtIn(10)}, {1250,
				style(`"£"#,##0.00;[Red]-"£"#,##0.00`)},
			{true, 0}, {false, 0}, {"TRUE", 0}, {" two\nlines ", 0}, {"=1+1", 0}, {"0042", 0},
			{1, builtIn(14)}, {61, builtIn(14)}, {45292, style("dd/mm/yyyy")}, {45292.5, style("yyyy-mm-dd hh:mm")}, {0.5,
				style("hh:mm")},
			{1.5, style("[h]:mm")}, {45292, style(`"day "0`)}, {45292, style("mmm")},
			{time.Date(2026, 3, 4, 0, 0, 0, 0, time.UTC), builtIn(14)},
		} {
			cell := fmt.Sprintf("B%d", i+2)
			set(t, f, fmt.Sprintf("A%d", i+2), i)
			must(t, f.SetCellValue("Sheet1", cell, c.value))
			if c.style != 0 {
				must(t, f.SetCellStyle("Sheet1", cell, cell, c.style))
			}
		}
	})
	want := []string{
		"is", "1250", "1250.5", "0.3", "1000000000000000", "-3", "12345", "0.2", "1250",
		"yes", "no", "TRUE", " two\nlines ", "=1+1", "0042",
		"1900-01-01", "1900-03-01", "2024-01-01", "2024-01-01 12:00:00", "12:00:00",
		"1.5", "45292", "2024-01-01", "2026-03-04",
	}
	var got []string
	for _, row := range rowsOf(t, openBook(t, book, "")) {
		got = append(got, row[1])
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Texts, plain numbers and places agree with what excelize reads from its own
// file, formatting aside.
func TestAgreesWithExcelize(t *testing.T) {
	book := workbook(t, func(f *excelize.File) {
		set(t, f, "A1", "lot", "make", "value", "note")
		for i := range 300 {
			set(t, f, fmt.Sprintf("A%d", 2*i+2), fmt.Sprintf("B%d", i), strings.Repeat("é", i%9)+"x", i*137, nil)
			if i%5 == 0 {
				must(t, f.SetCellRichText("Sheet1", fmt.Sprintf("D%d", 2*i+2), []excelize.RichTextRun{{Text: "rich "},
					{Text: "text & more", Font: &excelize.Font{Bold: true}}}))
			}
		}
	})
	f, err := excelize.OpenReader(bytes.NewReader(book))
	must(t, err)
	theirs, err := f.GetRows("Sheet1", excelize.Options{RawCellValue: true})
	must(t, err)
	must(t, f.Close())
	s := openBook(t, book, "")
	for {
		r, err := s.Next()
		if err == io.EOF {
			break
		}
		must(t, err)
		want := theirs[r.Line-1]
		for len(want) < 4 {
			want = append(want, "")
		}
		if diff := cmp.Diff(want, r.Cells); diff != "" {
			t.Fatalf("row %d: %s", r.Line, diff)
		}
	}
}

func TestFormulas(t *testing.T) {
	book := workbook(t, func(f *excelize.File) {
		set(t, f, "A1", "lot", "value", "guide")
		set(t, f, "A2", "1", 1200)
		must(t, f.SetCellFormula("Sheet1", "C2", "B2*2")) // excelize keeps no value
	})
	s := openBook(t, rewrite(t, book, "xl/worksheets/sheet1.xml", func(x string) string {
		return strings.Replace(x, `</sheetData>`,
			`<row r="3"><c r="A3" t="str"><f>"2"</f><v>2</v></c><c r="B3"><f>600*2</f><v>1200</v></c><c r="C3" t="e"><f>1/0</f><v>#DIV/0!</v></c></row></sheetData>`, 1)
	}), "")
	want := [][]string{{"lot", "value", "guide"}, {"1", "1200", ""}, {"2", "1200", "#DIV/0!"}}
	if diff := cmp.Diff(want, rowsOf(t, s)); diff != "" {
		t.Error(diff)
	}
	notices := strings.Join(s.Notices(), "\n")
	for _, part := range []string{"the formula in C2 has no value yet", "the formula in C3 ended in an error"} {
		if !strings.Contains(notices, part) {
			t.Errorf("no notice %q in:\n%s", part, notices)
		}
	}
}

func TestSheets(t *testing.T) {
	book := workbook(t, func(f *excelize.File) {
		for _, name := range []string{"Lots", "Second hand"} {
			_, err := f.NewSheet(name)
			must(t, err)
			must(t, f.SetSheetRow(name, "A1", &[]any{name}))
		}
		must(t, f.SetSheetVisible("Sheet1", true))
		f.SetActiveSheet(1)
		must(t, f.SetSheetVisible("Sheet1", false))
	})
	s := openBook(t, book, "")
	if _, name := s.Place(); name != "Lots" {
		t.Errorf("read %q, not the first sheet that is not hidden", name)
	}
	if n := s.Notices(); len(n) != 1 || n[0] != "sale.xlsx: sheet Lots is read; --sheet reads another: Second hand" {
		t.Error(n)
	}
	if rows := rowsOf(t, openBook(t, book, "second HAND")); rows[0][0] != "Second hand" {
		t.Error(rows)
	}
	_, err := tabular.OpenWorkbook("sale.xlsx", bytes.NewReader(book), int64(len(book)), "Lost")
	if want := `sale.xlsx: there is no sheet "Lost"; did you mean --sheet "Lots"?`; err == nil || err.Error() != want {
		t.Errorf("%v", err)
	}
}

// A title above the header, blank rows, a cell right of the header, a hidden row.
func TestLayout(t *testing.T) {
	book := workbook(t, func(f *excelize.File) {
		set(t, f, "A1", "Sale of the week")
		set(t, f, "A3", "lot", "value", "note")
		set(t, f, "A5", "1", 100)
		set(t, f, "A6", "2", 200, "", "stray")
		set(t, f, "A9", "3", 300)
		must(t, f.SetRowVisible("Sheet1", 9, false))
	})
	s := openBook(t, book, "")
	want := [][]string{{"lot", "value", "note"}, {"1", "100", ""},
		{"6", "has a cell in column D, to the right of the last header; give that column a header, or clear the cell"}, {"3",
			"300", ""}}
	if diff := cmp.Diff(want, rowsOf(t, s)); diff != "" {
		t.Error(diff)
	}
	want = [][]string{{"sale.xlsx: sheet Sheet1: row 1 is skipped: it looks like a title",
		"sale.xlsx: sheet Sheet1: row 9 is hidden there; it is read too"}}
	if diff := cmp.Diff(want[0], s.Notices()); diff != "" {
		t.Error(diff)
	}
}

// rewrite changes one part of a workbook.
func rewrite(t testing.TB, book []byte, part string, change func(string) string) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	must(t, err)
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	for _, f := range in.File {
		r, err := f.Open()
		must(t, err)
		text, err := io.ReadAll(r)
		must(t, err)
		if f.Name == part {
			text = []byte(change(string(text)))
		}
		w, err := out.CreateHeader(&zip.FileHeader{Name: f.Name, Method: zip.Store})
		must(t, err)
		_, err = w.Write(text)
		must(t, err)
	}
	must(t, out.Close())
	return b.Bytes()
}

func plain(t testing.TB) []byte {
	return workbook(t, func(f *excelize.File) {
		set(t, f, "A1", "lot", "value")
		set(t, f, "A2", "one", 100)
		set(t, f, "A3", "two", 200)
	})
}

// Whatever is wrong with a workbook is said, and nothing of it is lost in silence.
func TestHostile(t *testing.T) {
	const part = "xl/worksheets/sheet1.xml"
	good := plain(t)
	cut := func(at string) func(string) string {
		return func(x string) string { return x[:strings.Index(x, at)] }
	}
	instead := func(old, new string) func(string) string {
		return func(x string) string {
			if !strings.Contains(x, old) {
				t.Fatalf("no %q in %s", old, x)
			}
			return strings.Replace(x, old, new, 1)
		}
	}
	for _, c := range []struct {
		name string
		book []byte
		want string
	}{
		{"file cut short", good[:len(good)/2], "cut short or damaged"},
		{"sheet cut short", rewrite(t, good, part, cut(`<row r="3"`)), `part "xl/worksheets/sheet1.xml" is cut short`},
		{"sheet cut within a row", rewrite(t, good, part, cut(`</row></sheetData>`)), "is cut short"},
		{"a text that is not there", rewrite(t, good, part, instead(`<v>2</v>`, `<v>77</v>`)),
			`has a text that is not in the workbook in A2 ("77")`},
		{"rows out of order", rewrite(t, good, part, instead(`<row r="3"`, `<row r="2"`)), `row "2" is out of order`},
		{"far to the right", rewrite(t, good, part, instead(`r="B3"`, `r="XFD3"`)), "past the 1024 columns"},
		{"no number", rewrite(t, good, part, instead(`<v>200</v>`, `<v>2O0</v>`)), `has no number in B3 ("2O0")`},
		{"two cells", rewrite(t, good, part, instead(`r="B3"`, `r="A3"`)), `two cells in column A`},
		{"a cell of megabytes", rewrite(t, good, part, instead(`<v>200</v>`, `<v>`+strings.Repeat("9", 5<<20)+`</v>`)),
			"has a cell of more than 4 MiB"},
		{"a long row", rewrite(t, good, part, instead(`<c r="B3"><v>200</v>`, `<c r="B3" t="str"><v>`+strings.Repeat("9",
			2<<20)+`</v>`)), "is longer than 1 MiB"},
		{"elements without end", rewrite(t, good, part, instead(`<row r="3"`, strings.Repeat("<a>", 100_000)+`<row r="3"`)),
			"nests more than 64"},
		{"a zip bomb", bomb(t, good, 257<<20), "as a zip bomb does"},
		{"an archive that lies about a size", bomb(t, good, 4096), "is cut short or damaged"},
		{"another charset", rewrite(t, good, part, instead(`encoding="UTF-8"`, `encoding="EBCDIC"`)), "UTF-8 is read"},
		{"an entity bomb", rewrite(t, good, part, instead(`<v>200</v>`, `<v>&lol9;</v>`)), "invalid character entity"},
		{"no workbook", zipOf(t, "readme.txt"), "a zip archive without a workbook"},
		{"a binary workbook", zipOf(t, "xl/workbook.bin"), "a binary workbook"},
		{"OpenDocument", zipOf(t, "content.xml"), "an OpenDocument file"},
		{"no part", rewrite(t, good, "xl/_rels/workbook.xml.rels", instead("worksheets/sheet1.xml",
			"worksheets/sheet9.xml")), "has no part"},
	} {
		t.Run(c.name, func(t *testing.T) {
			said := ""
			s, err := tabular.OpenWorkbook("sale.xlsx", bytes.NewReader(c.book), int64(len(c.book)), "")
			for err == nil {
				var r tabular.Record
				if r, err = s.Next(); r.Fault != "" {
					said += r.Fault + "\n"
				}
			}
			if !errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
				said += err.Error()
			}
			if !strings.Contains(said, c.want) {
				t.Errorf("said %q, want %q", said, c.want)
			}
		})
	}
}

// bomb adds blanks to the sheet and declares that it unpacks to so many bytes,
// which stands in the archive's table of contents, 24 bytes into the entry.
func bomb(t testing.TB, book []byte, declared uint32) []byte {
	t.Helper()
	book = rewrite(t, book, "xl/worksheets/sheet1.xml", func(x string) string { return x + strings.Repeat(" ", 1<<20) })
	at := bytes.LastIndex(book, []byte("xl/worksheets/sheet1.xml")) - 46
	if string(book[at:at+4]) != "PK\x01\x02" {
		t.Fatal("no entry there")
	}
	binary.LittleEndian.PutUint32(book[at+24:], declared)
	return book
}

func zipOf(t testing.TB, name string) []byte {
	t.Helper()
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	_, err := out.Create(name)
	must(t, err)
	must(t, out.Close())
	return b.Bytes()
}

func TestMagic(t *testing.T) {
	if !tabular.Magic(plain(t)[:8]) || tabular.Magic([]byte("lot,value")) || tabular.Magic(nil) {
		t.Error("wrong")
	}
}

// Whatever the sheet's XML: no panic, rows in order, each with as many cells as
// the header or a fault.
func FuzzSheet(f *testing.F) {
	good := plain(f)
	for _, seed := range []string{
		`<worksheet><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>lot</t></is></c></row><row><c><v>1</v></c></row></sheetData></worksheet>`,
		`<x:worksheet><x:sheetData><x:row><x:c t="s"><x:v>0</x:v></x:c><x:c t="b"><x:v>1</x:v></x:c></x:row></x:sheetData></x:worksheet>`,
		`<worksheet><row r="3" hidden="1"><c r="ZZZ3" t="e"><f>1</f></c></row></worksheet>`, `<row r="-1"/>`, `<c/>`, "",
		`<row><c t="str"><v>_x001b__x</v></c><c s="1"><v>1e300</v></c><c s="99"><v>-1</v></c><c t="d"><v>2024</v></c></row>`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, xml []byte) {
		book := rewrite(t, good, "xl/worksheets/sheet1.xml", func(string) string { return string(xml) })
		walk(t, book)
	})
}

// Whatever the bytes of the file: no panic.
func FuzzFile(f *testing.F) {
	f.Add(plain(f))
	f.Add(zipOf(f, "xl/workbook.xml"))
	f.Fuzz(func(t *testing.T, book []byte) { walk(t, book) })
}

func walk(t *testing.T, book []byte) {
	s, err := tabular.OpenWorkbook("f.xlsx", bytes.NewReader(book), int64(len(book)), "")
	if err != nil {
		return
	}
	last, headers := 0, 0
	for {
		r, err := s.Next()
		if err != nil {
			return
		}
		if headers == 0 {
			headers = max(1, len(r.Cells))
		}
		if r.Line <= last || (r.Fault == "") == (r.Cells == nil) || r.Fault == "" && len(r.Cells) != headers {
			t.Fatalf("row %d after %d: %d headers, %d cells, fault %q", r.Line, last, headers, len(r.Cells), r.Fault)
		}
		last = r.Line
	}
}

// No sheet is left open, and no temporary file is made.
func TestNoTemporaryFile(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("TMPDIR", dir)
	rowsOf(t, openBook(t, plain(t), ""))
	left, err := os.ReadDir(dir)
	must(t, err)
	if len(left) != 0 {
		t.Error(filepath.Join(dir, left[0].Name()))
	}
}

func BenchmarkReadWorkbook(b *testing.B) {
	book := workbook(b, func(f *excelize.File) {
		for i := range 5000 {
			set(b, f, fmt.Sprintf("A%d", i+1), i, "make", "model", 2019, 50000, "family", "N", "nose s1 c3",
				"front end damage, bonnet and bumper", 9000, 2000, "site", 38, "yes", "yes")
		}
	})
	for b.Loop() {
		rowsOf(b, openBook(b, book, ""))
	}
}
