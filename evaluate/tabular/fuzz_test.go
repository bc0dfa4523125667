package tabular_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"wreckoner/evaluate/tabular"
)

// Whatever the bytes: no panic, the records are in order and do not overlap, every
// line that is not blank is in one of them, each has as many cells as the header or
// a fault, and it does not matter in what pieces the file arrives.
func FuzzCSV(f *testing.F) {
	for _, seed := range []string{
		"a,b\n1,2\n", "a;b\r\n1;\"x\r\ny\"\r\n", "a\tb\r1\t2\r", "\ufeffa,b\n1,\"2\n3,4\n", "a,b\n1,19\" wheels\n2,3\n",
		"sep=;\na;b\n\n;\n1;2;3\n", "\xff\xfea\x00,\x00b\x00\n\x00", "\xfe\xff\x00a\x00\n", "caf\xe9,b\n\x00,1\n",
		"a,b,c,d,e,f\n1,\"x,3,4,5,6\n11,12,13,14,15,16\n21,22\",23,24,25,26\n", "a\r\r\n\rb", "\"\n\"\n\"", "a,\"b\" \n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		s := tabular.NewCSV("f.csv", bytes.NewReader(file))
		slow := tabular.NewCSV("f.csv", iotest.OneByteReader(bytes.NewReader(file)))
		covered := map[int]bool{}
		next, headers := 1, 0
		for {
			r, err := s.Next()
			again, errAgain := slow.Next()
			if diff := cmp.Diff(r, again); diff != "" || !errors.Is(errAgain, err) {
				t.Fatalf("in pieces it differs: %v, %v\n%s", err, errAgain, diff)
			}
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if r.Line < next || r.Lines < 1 {
				t.Fatalf("line %d, %d lines, after line %d", r.Line, r.Lines, next-1)
			}
			next = r.Line + r.Lines
			for n := r.Line; n < next; n++ {
				covered[n] = true
			}
			if headers == 0 {
				headers = max(1, len(r.Cells))
			}
			if (r.Fault == "") == (r.Cells == nil) || r.Fault == "" && len(r.Cells) != headers {
				t.Fatalf("%d headers, %d cells, fault %q", headers, len(r.Cells), r.Fault)
			}
		}
		if bytes.HasPrefix(file, []byte("\xff\xfe")) || bytes.HasPrefix(file, []byte("\xfe\xff")) {
			return // the lines of UTF-16 are not counted here
		}
		for n, line := range physical(string(file)) {
			if blank(line) {
				continue
			}
			if n == 0 && strings.HasPrefix(strings.TrimPrefix(line, "\ufeff"), "sep=") {
				continue
			}
			if !covered[n+1] {
				t.Fatalf("line %d, %q, is in no record", n+1, line)
			}
		}
	})
}

// blank reports whether the line may be a blank row: delimiters, quotes and
// spaces, of which the no-break space may be that of Windows-1252.
func blank(line string) bool {
	for len(line) > 0 {
		r, size := utf8.DecodeRuneInString(line)
		if r == utf8.RuneError && size == 1 && line[0] == 0xA0 {
			r = '\u00a0'
		}
		if !unicode.IsSpace(r) && !strings.ContainsRune(",;\t\"\u200b\ufeff", r) {
			return false
		}
		line = line[size:]
	}
	return true
}

// physical cuts a file into lines the plain way.
func physical(file string) []string {
	i := strings.IndexAny(file, "\r\n")
	if i >= 0 && file[i] == '\r' {
		j := i + 1
		if j >= len(file) || file[j] != '\n' {
			file = strings.ReplaceAll(file, "\r\n", "\n")
			file = strings.ReplaceAll(file, "\r", "\n")
		}
	}
	return strings.Split(file, "\n")
}

// What encoding/csv writes comes back as it was.
func TestWrittenRowsComeBack(t *testing.T) {
	cell := rapid.OneOf(
		rapid.StringMatching(`[a-z0-9 ,;"'£é\t\n]{0,12}`),
		rapid.Map(rapid.String(), func(s string) string {
			return strings.Map(func(r rune) rune {
				if r == '\r' || r == 0 {
					return -1
				}
				return r
			}, s)
		}),
	)
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(1, 5).Draw(t, "columns")
		comma := rapid.SampledFrom([]rune(",;\t")).Draw(t, "comma")
		header := []string{"first", "second", "third", "fourth", "fifth"}
		rows := [][]string{header[:columns]}
		if columns == 1 {
			comma = ','
		}
		for range rapid.IntRange(0, 8).Draw(t, "rows") {
			row := make([]string, columns)
			for i := range row {
				row[i] = cell.Draw(t, "cell")
			}
			row[0] = "x" + row[0] // not blank
			rows = append(rows, row)
		}
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = comma
		w.UseCRLF = rapid.Bool().Draw(t, "crlf")
		if err := w.WriteAll(rows); err != nil {
			t.Fatal(err)
		}
		s := tabular.NewCSV("f.csv", &b)
		var got [][]string
		for {
			r, err := s.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if r.Fault != "" {
				t.Fatalf("line %d: %s", r.Line, r.Fault)
			}
			got = append(got, r.Cells)
		}
		if diff := cmp.Diff(rows, got); diff != "" {
			t.Fatal(diff)
		}
	})
}
