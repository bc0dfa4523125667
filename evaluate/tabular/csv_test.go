package tabular_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"wreckoner/evaluate/tabular"
)

// all returns every record of a file.
func all(t testing.TB, file string) (records []tabular.Record, notices []string) {
	t.Helper()
	s := tabular.NewCSV("f.csv", strings.NewReader(file))
	for {
		r, err := s.Next()
		if err == io.EOF {
			return records, s.Notices()
		}
		if err != nil {
			t.Fatal(err)
		}
		records = append(records, r)
	}
}

// brief writes a record on one line: "3: a|b" or "3! the fault".
func brief(r tabular.Record) string {
	if r.Fault != "" {
		return fmt.Sprintf("%d! %s", r.Line, r.Fault)
	}
	return fmt.Sprintf("%d: %s", r.Line, strings.Join(r.Cells, "|"))
}

const (
	bareQuote  = `has a quote within a cell; put the cell in quotes and write the quote twice: "19"" wheels"`
	openQuote  = `opens a quote that is not closed; close it, or write a quote within a cell twice: "19"" wheels"`
	afterQuote = `has text after a closing quote; write a quote within a quoted cell twice: "19"" wheels"`
	leftOpen   = `a quote seems to be left open, for the lines after this one read as rows; close it, or write a quote within a cell twice`
	nulByte    = `is not plain text; save it as CSV UTF-8`
	tooLong    = `is longer than 1 MiB; split the line, or close a quote that is left open`
)

func cells(has string, headers int) string {
	return fmt.Sprintf("has %s where the header has %d; add or take away a delimiter, or put a cell that holds one in "+
		"quotes", has, headers)
}

func TestRecords(t *testing.T) {
	many := strings.Repeat("x,y\n", 600)
	wide := "a,b,c,d,e,f\n"
	for _, test := range []struct {
		name, file string
		want       []string
	}{
		{"empty", "", nil},
		{"blank lines only", "\n\r\n  \n\t\n,,,\n", nil},
		{"header only", "a,b", []string{"1: a|b"}},
		{"no line end at the end", "a,b\n1,2", []string{"1: a|b", "2: 1|2"}},
		{"blank rows are passed over and counted", "\n\na,b\n\n,\n \u00a0, \n1,2\n\"\",\"\"\n3,4\n",
			[]string{"3: a|b", "7: 1|2", "9: 3|4"}},
		{"cells keep their spaces", "a,b\n 1 ,\u00a02\n", []string{"1: a|b", "2:  1 |\u00a02"}},
		{"semicolon", "a;b,c;d\n1;2,5;3\n", []string{"1: a|b,c|d", "2: 1|2,5|3"}},
		{"tab, empty cells kept", "a\tb\tc\n\t\t3\n\"x\"\t\t\"\"\n", []string{"1: a|b|c", "2: ||3", "3: x||"}},
		{"delimiters within a quoted header", "\"a,b,c\";d\n1;2\n", []string{"1: a,b,c|d", "2: 1|2"}},
		{"one column", "a\n1\n2\n", []string{"1: a", "2: 1", "3: 2"}},
		{"delimiter named by a spreadsheet", "sep=;\na;b,c\n1;2\n", []string{"2: a|b,c", "3: 1|2"}},
		{"space before a quote", "a,b\n1, \"x, y\"\n", []string{"1: a|b", "2: 1|x, y"}},
		{"line break in quotes", "a,b\n1,\"x\r\ny\"\n2,z\n", []string{"1: a|b", "2: 1|x\ny", "4: 2|z"}},
		{"line break in the header", "a,\"b\nc\"\n1,2\n", []string{"1: a|b\nc", "3: 1|2"}},
		{"lone CR is text among LF", "a,b\n1,x\ry\n", []string{"1: a|b", "2: 1|x\ry"}},
		{"lone CRs end lines", "a,b\r1,\"x\ry\"\r2,z\r", []string{"1: a|b", "2: 1|x\ny", "4: 2|z"}},
		{"CR first, then all kinds", "a,b\r1,2\n3,4\r\n5,6\r7,8", []string{"1: a|b", "2: 1|2", "3: 3|4", "4: 5|6", "5: 7|8"}},
		{"several CRs before an LF", "a,b\n1,2\r\r\n3,4\r\r\n", []string{"1: a|b", "2: 1|2", "3: 3|4"}},
		{"several CRs before the first LF", "a,b\r\r\n1,2\r\r\n", []string{"1: a|b", "3: 1|2"}},

		{"too few", "a,b\n1\n2,3\n", []string{"1: a|b", "2! " + cells("1 cell", 2), "3: 2|3"}},
		{"too many", "a,b\n1,2,3\n4,5\n", []string{"1: a|b", "2! " + cells("3 cells", 2), "3: 4|5"}},
		{"bare quote", "a,b\n1,19\" wheels\n2,3\n4,17\" wheels\n", []string{"1: a|b", "2! " + bareQuote, "3: 2|3", "4! " +
			bareQuote}},
		{"bare quotes on one line", "a,b\n1,19\" or 17\" wheels\n2,3\n", []string{"1: a|b", "2! " + bareQuote, "3: 2|3"}},
		{"text after a quote", "a,b\n1,\"x\" y\n2,3\n", []string{"1: a|b", "2! " + afterQuote, "3: 2|3"}},
		{"quote never closed", "a,b\n1,\"x\n2,3\n4,5\n", []string{"1: a|b", "2! " + openQuote, "3: 2|3", "4: 4|5"}},
		{"quote closed by another row's", "a,b,c\n1,\"x,2\n3,4,5\n6,y\",7\n8,9,10\n",
			[]string{"1: a|b|c", "2: 1|x,2\n3,4,5\n6,y|7", "5: 8|9|10"}}, // with a notice: it may be meant
		{"the same with more headers", wide + "1,\"x,3,4,5,6\n11,12,13,14,15,16\n21,22\",23,24,25,26\n31,32,33,34,35,36\n",
			[]string{"1: a|b|c|d|e|f", "2! " + leftOpen, "3: 11|12|13|14|15|16", "4! " + bareQuote, "5: 31|32|33|34|35|36"}},
		{"the same, ragged", "a,b,c\n1,\"x,2\n3,4,5\n6,y\",7,8\n9,10,11\n",
			[]string{"1: a|b|c", "2! " + leftOpen, "3: 3|4|5", "4! " + bareQuote, "5: 9|10|11"}},
		{"ragged, but one record", "a,b,c\n1,\"x\ny\"\n4,5,6\n", []string{"1: a|b|c", "2! " + cells("2 cells", 3),
			"4: 4|5|6"}},
		{"NUL", "a,b\n1,\x002\n3,4\n", []string{"1: a|b", "2! " + nulByte, "3: 3|4"}},
		{"UTF-16 without a mark", "a\x00,\x00b\x00\n\x001\x00", []string{"1! " + nulByte, "2! " + nulByte}},
		{"too many lines in quotes", "a,b\n1,\"" + strings.Repeat("x\n", 600) + "\"\n2,3\n", nil},
		{"quote open before many rows", "a,b\n1,\"2\n" + many + "3,4\n", nil},
	} {
		t.Run(test.name, func(t *testing.T) {
			records, _ := all(t, test.file)
			var got []string
			for _, r := range records {
				got = append(got, brief(r))
			}
			switch test.name {
			case "too many lines in quotes":
				if got[1] != "2! "+openQuote || got[2] != "3! "+cells("1 cell", 2) || got[len(got)-1] != "603: 2|3" {
					t.Errorf("got %q, ..., %q", got[:3], got[len(got)-1])
				}
			case "quote open before many rows":
				if len(got) != 603 || got[1] != "2! "+openQuote || got[2] != "3: x|y" || got[602] != "603: 3|4" {
					t.Errorf("got %d records: %q, ..., %q", len(got), got[:3], got[len(got)-1])
				}
			default:
				if diff := cmp.Diff(test.want, got); diff != "" {
					t.Error(diff)
				}
			}
		})
	}
}

func TestRawIsAsItWas(t *testing.T) {
	records, _ := all(t, "a;b\r\n 1 ;\"x\r\n\r\ny\"\"\" \r\n2;\"3\"\r\n4;5;6\r\n")
	want := []string{"a;b", " 1 ;\"x", "y\"\"\" ", "2;\"3\"", "4;5;6"}
	var got []string
	for _, r := range records {
		got = append(got, r.Raw)
	}
	if diff := cmp.Diff(want, got); diff != "" { // a space after the quote is a fault, so that line by line
		t.Error(diff)
	}
	records, _ = all(t, "a;b\r\n 1 ;\"x\r\n\r\ny\"\"\"\r\n")
	if got, want := records[1].Raw, " 1 ;\"x\r\n\r\ny\"\"\""; got != want || records[1].Lines != 3 {
		t.Errorf("got %q over %d lines, want %q over 3", got, records[1].Lines, want)
	}
}

func TestNoticeOfRowsWithinACell(t *testing.T) {
	_, notices := all(t, "a,b,c\n1,\"x,2\n3,4,5\n6,y\",7\n")
	want := []string{"f.csv: a quoted cell contains lines that look like rows, from line 2 on; is a closing quote " +
		"missing?"}
	if diff := cmp.Diff(want, notices); diff != "" {
		t.Error(diff)
	}
}

func TestLongLines(t *testing.T) {
	long := strings.Repeat("x", tabular.Longest)
	for name, end := range map[string]string{"LF": "\n", "CRLF": "\r\n", "CR": "\r"} {
		t.Run(name, func(t *testing.T) {
			file := strings.Join([]string{"a,b", long + "," + long + long, "1,2", long[2:] + ",2", `1,"` + long[:len(long)-2],
				long + "é", "3,4"}, end)
			for _, r := range []io.Reader{strings.NewReader(file), iotest.HalfReader(strings.NewReader(file))} {
				s := tabular.NewCSV("f.csv", r)
				var got []string
				for {
					rec, err := s.Next()
					if err == io.EOF {
						break
					}
					if err != nil {
						t.Fatal(err)
					}
					if len(rec.Raw) > tabular.Longest || len(rec.Found) > 400 {
						t.Errorf("line %d keeps %d and %d bytes", rec.Line, len(rec.Raw), len(rec.Found))
					}
					b := brief(rec)
					got = append(got, b[:min(len(b), 150)])
				}
				want := []string{"1: a|b", "2! " + tooLong, "3: 1|2", "4: " + long[:147], "5! " + tooLong, "6! " + tooLong,
					"7: 3|4"}
				if diff := cmp.Diff(want, got); diff != "" {
					t.Error(diff)
				}
			}
		})
	}
}

func TestEndlessLineHoldsLittle(t *testing.T) {
	const size = 1 << 28
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	defer func() {
		runtime.ReadMemStats(&after)
		if taken := after.TotalAlloc - before.TotalAlloc; taken > 16*tabular.Longest {
			t.Errorf("took %d MiB for a line of %d MiB", taken>>20, size>>20)
		}
	}()
	s := tabular.NewCSV("f.csv", io.MultiReader(strings.NewReader("a,b\n"), io.LimitReader(zeros{}, size),
		strings.NewReader("\n1,2\n")))
	var got []string
	for {
		rec, err := s.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, brief(rec))
	}
	if diff := cmp.Diff([]string{"1: a|b", "2! " + tooLong, "3: 1|2"}, got); diff != "" {
		t.Error(diff)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '0'
	}
	return len(p), nil
}

func TestReadError(t *testing.T) {
	broken := errors.New("broken")
	s := tabular.NewCSV("f.csv", io.MultiReader(strings.NewReader("a,b\n1,\"2\n3,4\n"), iotest.ErrReader(broken)))
	var got []string
	for {
		rec, err := s.Next()
		if err != nil {
			if !errors.Is(err, broken) {
				t.Errorf("got %v", err)
			}
			break
		}
		got = append(got, brief(rec))
	}
	if diff := cmp.Diff([]string{"1: a|b", "2! " + openQuote, "3: 3|4"}, got); diff != "" {
		t.Error(diff)
	}
	if _, err := tabular.NewCSV("f.csv", iotest.ErrReader(broken)).Next(); !errors.Is(err, broken) {
		t.Errorf("at the start: got %v", err)
	}
}

// Every encoding, delimiter and line end gives the same records.
func TestEncodings(t *testing.T) {
	const file = "lot,make,price in £,note\n1,Citroné,\"1,250\",\"two\nlines\"\n\n2,\"Škoro \"\"S\"\"\",£300,20 €\n"
	want := []string{"1: lot|make|price in £|note", "2: 1|Citroné|1,250|two\nlines", "5: 2|Škoro \"S\"|£300|20 €"}
	encodings := map[string]func(string) (string, error){
		"UTF-8":           func(s string) (string, error) { return s, nil },
		"UTF-8 with mark": func(s string) (string, error) { return "\ufeff" + s, nil },
		"UTF-16 LE":       encode(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM)),
		"UTF-16 BE":       encode(unicode.UTF16(unicode.BigEndian, unicode.UseBOM)),
		"Windows-1252":    encode(charmap.Windows1252),
	}
	for encodingName, encoded := range encodings {
		for _, delimiter := range []string{",", ";", "\t"} {
			for endName, end := range map[string]string{"LF": "\n", "CRLF": "\r\n", "CR": "\r"} {
				for _, quotedFirst := range []bool{false, true} {
					t.Run(fmt.Sprintf("%s %q %s %v", encodingName, delimiter, endName, quotedFirst), func(t *testing.T) {
						text := strings.ReplaceAll(file, "1,250", "1#250")
						text = strings.ReplaceAll(text, ",", delimiter)
						text = strings.ReplaceAll(text, "#", ",")
						text = strings.ReplaceAll(text, "\n", end)
						if quotedFirst {
							text = `"lot"` + strings.TrimPrefix(text, "lot")
						}
						text, err := encoded(text)
						if err != nil {
							t.Fatal(err)
						}
						records, notices := all(t, text)
						var got []string
						for _, r := range records {
							got = append(got, brief(r))
						}
						if diff := cmp.Diff(want, got); diff != "" {
							t.Error(diff)
						}
						var wantNotices []string
						if encodingName == "Windows-1252" {
							wantNotices = []string{"f.csv: not all UTF-8: read as Windows-1252 on 3 lines (the first is 1)"}
						}
						if diff := cmp.Diff(wantNotices, notices); diff != "" {
							t.Error(diff)
						}
					})
				}
			}
		}
	}
}

func encode(e encoding.Encoding) func(string) (string, error) {
	return e.NewEncoder().String
}

// A file that is UTF-8 for long and then is not loses neither rows nor letters.
func TestUTF8UntilLate(t *testing.T) {
	file := "a,b\n" + strings.Repeat("é,x\n", 30_000) + "caf\xe9,é\n" + "é,x\n"
	records, notices := all(t, file)
	if len(records) != 30_003 {
		t.Fatalf("got %d records", len(records))
	}
	if got := brief(records[30_001]); got != "30002: café|é" {
		t.Errorf("got %q", got)
	}
	if got := brief(records[30_002]); got != "30003: é|x" {
		t.Errorf("got %q", got)
	}
	want := []string{"f.csv: not all UTF-8: read as Windows-1252 on line 30002"}
	if diff := cmp.Diff(want, notices); diff != "" {
		t.Error(diff)
	}
}

func TestBrokenUTF16(t *testing.T) {
	_, notices := all(t, "\xff\xfea\x00\n\x00\x00\xd8b\x00\n\x00") // half a surrogate pair
	want := []string{"f.csv: some characters were lost before we got the file (U+FFFD), on line 2"}
	if diff := cmp.Diff(want, notices); diff != "" {
		t.Error(diff)
	}
}

// Source: csv-spectrum 2.0.0, BSD-2-Clause; see testdata/spectrum/SOURCE.md.
func TestSpectrum(t *testing.T) {
	files, err := filepath.Glob("testdata/spectrum/csvs/*.csv")
	if err != nil || len(files) != 11 {
		t.Fatalf("found %d files, %v", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".csv")
		t.Run(name, func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			records, _ := all(t, string(text))
			expected, err := os.ReadFile("testdata/spectrum/json/" + name + ".json")
			if err != nil {
				t.Fatal(err)
			}
			var want []map[string]string
			if err := json.Unmarshal(expected, &want); err != nil {
				t.Fatal(err)
			}
			for _, row := range want {
				for k, v := range row {
					row[k] = strings.ReplaceAll(v, "\r\n", "\n")
				}
			}
			var got []map[string]string
			for _, r := range records[1:] {
				row := map[string]string{}
				if r.Fault != "" {
					t.Fatalf("line %d: %s", r.Line, r.Fault)
				}
				for i, header := range records[0].Cells {
					row[header] = r.Cells[i]
				}
				got = append(got, row)
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Spaces before a cell stay, also where another cell of the row is quoted; those
// before a quote go.
func TestSpacesBeforeCells(t *testing.T) {
	s := tabular.NewCSV("f.csv", strings.NewReader("a,b,c\n\"1\", 2, 3\n\"1\", \"2\",3\n"))
	for _, want := range []string{"a|b|c", "1| 2| 3", "1|2|3"} {
		r, err := s.Next()
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(r.Cells, "|"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
