package layout_test

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// sheetOf makes a workbook of one sheet with merged cells; ECMA-376 part 1, 18.3 has the elements.
func sheetOf(t *testing.T, rows [][]string, merges []string) []byte {
	t.Helper()
	var sheet strings.Builder
	text := func(s string) string {
		var b strings.Builder
		if err := xml.EscapeText(&b, []byte(s)); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	sheet.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`)
	for i, row := range rows {
		fmt.Fprintf(&sheet, `<row r="%d">`, i+1)
		for j, cell := range row {
			if cell != "" {
				fmt.Fprintf(&sheet, `<c r="%c%d" t="inlineStr"><is><t>%s</t></is></c>`, 'A'+j, i+1, text(cell))
			}
		}
		sheet.WriteString(`</row>`)
	}
	sheet.WriteString(`</sheetData>`)
	if len(merges) > 0 {
		sheet.WriteString(`<mergeCells>`)
		for _, m := range merges {
			fmt.Fprintf(&sheet, `<mergeCell ref="%s"/>`, text(m))
		}
		sheet.WriteString(`</mergeCells>`)
	}
	sheet.WriteString(`</worksheet>`)
	const ns = `xmlns="http://schemas.openxmlformats.org/`
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, part := range [][2]string{
		{"[Content_Types].xml", `<Types ` + ns + `package/2006/content-types"/>`},
		{"_rels/.rels", `<Relationships ` + ns + `package/2006/relationships"><Relationship Id="r1" Type="http://schemas.` +
			`openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`},
		{"xl/workbook.xml", `<workbook ` + ns + `spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/` +
			`officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", `<Relationships ` + ns + `package/2006/relationships"><Relationship Id="r1" Type="` +
			`http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/s.xml"/></Relationships>`},
		{"xl/worksheets/s.xml", sheet.String()},
	} {
		w, err := z.Create(part[0])
		if err == nil {
			_, err = io.WriteString(w, part[1])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// arrangedBook returns the sites of a sheet's rows by their number, or the error.
func arrangedBook(t *testing.T, content []byte) (sites map[string]string, err error) {
	t.Helper()
	open := func() *tabular.Workbook {
		source, err := tabular.OpenWorkbook("f.xlsx", bytes.NewReader(content), int64(len(content)), "")
		if err != nil {
			t.Fatal(err)
		}
		return source
	}
	plan, err := layout.Survey(open(), options())
	if err != nil || plan.Wanting() != "" {
		return nil, err
	}
	source := plan.Arrange(open())
	at := plan.At()
	sites = map[string]string{}
	if _, err := source.Next(); err != nil {
		return nil, err
	}
	for {
		r, err := source.Next()
		if err == io.EOF {
			return sites, nil
		}
		if err != nil {
			return nil, err
		}
		if r.Fault == "" {
			sites[r.Cells[at["number"]]] = r.Cells[at["site"]]
		}
	}
}

// Cells merged downwards hold for all their rows and for no other, as a plain count of rows says; whatever else is
// written as a merged cell panics nothing, and spoils nothing in silence.
func FuzzMergedCells(f *testing.F) {
	f.Add("", []byte{1, 5, 0, 0, 1, 0, 3, 0})
	f.Add("", []byte{7, 0, 0, 7, 0, 0, 1})
	f.Add("A1:D1", []byte{3, 0, 1, 1})
	f.Add("D3:D2", []byte{1, 1})
	f.Add("D2:ZZZ99999999", []byte{0, 1})
	f.Add("D0:D9", []byte{1, 0, 0})
	f.Add(":", []byte{1})
	f.Fuzz(func(t *testing.T, raw string, marks []byte) {
		marks = marks[:min(len(marks), 60)]
		rows := [][]string{{"number", "words", "price", "site"}}
		var merges []string
		want := map[string]string{}
		last, until := "", 0
		for i, b := range marks {
			line, number, site := i+2, fmt.Sprint(i+1), ""
			if b&1 == 1 {
				site = fmt.Sprintf("place %d", i)
			}
			if more := int(b >> 1 & 3); line > until && more > 0 && i+more < len(marks) {
				merges = append(merges, fmt.Sprintf("D%d:D%d", line, line+more))
				last, until = site, line+more
			}
			rows = append(rows, []string{number, "words", "10", site})
			if want[number] = site; site == "" && line <= until {
				want[number] = last
			}
		}
		if raw != "" {
			merges = append(merges, strings.ToValidUTF8(raw, "?"))
		}
		got, err := arrangedBook(t, sheetOf(t, rows, merges))
		switch {
		case raw != "":
			if err != nil && !strings.Contains(err.Error(), "merged cell") && !strings.Contains(err.Error(), "XML") {
				t.Fatal(err)
			}
		case err != nil:
			t.Fatal(err)
		case len(marks) > 0 && fmt.Sprint(got) != fmt.Sprint(want):
			t.Errorf("merged %v:\nread %v\nwant %v", merges, got, want)
		}
	})
}
