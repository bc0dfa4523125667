package shop

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/tabular"
)

// A Learned is a build that a shop was learned from.
type Learned struct {
	// Build is its name, Digest that of its frozen estimate.
	Build, Digest string
	// Sold is the day of the sale, as written; "" where nobody said.
	Sold string
}

// ReadLearned reads which builds a shop folder was learned from; "" is the
// starter, which was learned from none.
func ReadLearned(folder string) ([]Learned, []tabular.Problem, error) {
	if folder == "" {
		return nil, nil, nil
	}
	path := filepath.Join(folder, LearnedFile)
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	defer f.Close()
	type learnedRow struct {
		Build  tabular.Cell `csv:"build"`
		Digest tabular.Cell `csv:"digest"`
		Sold   tabular.Cell `csv:"sold,omitempty"`
	}
	var out []Learned
	var problems []tabular.Problem
	_, err = tabular.ReadAll(tabular.NewCSV(path, f), &problems, func(v *learnedRow, k *tabular.Check) {
		x := Learned{k.Name("build", v.Build, "write the build's name, or take the row out"), v.Digest.Text(), v.Sold.Text()}
		if !k.Failed {
			out = append(out, x)
		}
	})
	return out, problems, err
}

// Knows reports whether a build is among those learned from, by its name or by its
// frozen estimate.
func Knows(learned []Learned, build, digest string) bool {
	return slices.ContainsFunc(learned, func(l Learned) bool {
		return tabular.NameKey(l.Build) == tabular.NameKey(build) || l.Digest != "" && l.Digest == digest
	})
}

// An Edit is new text for cells of one row, by the names of their columns.
type Edit map[string]string

// A Revision is what a new shop folder has that the old one has not. Rows are
// named as book.Row and book.Rule name them.
type Revision struct {
	Costs, Hidden map[string]Edit
	// Settings are keys of shop.toml with new values.
	Settings []SettingEdit
	// Learned are all builds that the new folder is learned from.
	Learned []Learned
	// Finish, where not nil, adds to the new folder before it appears under its name.
	Finish func(folder string) error
}

// Revise writes a copy of a shop folder, "" for the starter, to a new folder, with
// settings and cells of its costs and rules edited: whole or not at all. What is not edited
// stays as it is to the last byte. out must not exist.
func Revise(folder, out string, r Revision) error {
	if _, err := os.Lstat(out); !errors.Is(err, fs.ErrNotExist) {
		if err != nil {
			return err
		}
		return fmt.Errorf("%s already exists; learning never changes a folder: name a new one", out)
	}
	files, err := shopFiles(folder)
	if err != nil {
		return err
	}
	for name, edits := range map[string]map[string]Edit{CostsFile: r.Costs, HiddenFile: r.Hidden} {
		if files[name], err = revise(name, files[name], edits); err != nil {
			return err
		}
	}
	if files[SettingsFile], err = reviseSettings(SettingsFile, files[SettingsFile], r.Settings); err != nil {
		return err
	}
	if files[LearnedFile], err = learnedText(r.Learned); err != nil {
		return err
	}
	temp, err := os.MkdirTemp(filepath.Dir(filepath.Clean(out)), ".wreckoner-")
	if err != nil {
		return fmt.Errorf("%s: %w", out, plain(err))
	}
	defer os.RemoveAll(temp) // it is gone once it was renamed
	for name, text := range files {
		if err := tabular.WriteFile(filepath.Join(temp, name), text); err != nil {
			return err
		}
	}
	if r.Finish != nil {
		if err := r.Finish(temp); err != nil {
			return err
		}
	}
	if err := os.Chmod(temp, 0o755); err != nil {
		return err
	}
	if err := os.Rename(temp, out); err != nil {
		return fmt.Errorf("%s: %w", out, plain(err))
	}
	return nil
}

// plain is an operating system's error without call and path.
func plain(err error) error {
	if p, ok := errors.AsType[*fs.PathError](err); ok {
		return p.Err
	}
	if l, ok := errors.AsType[*os.LinkError](err); ok {
		return l.Err
	}
	return err
}

// shopFiles returns the files of a shop folder, and the starter's settings, costs and rules
// where it has none of its own.
func shopFiles(folder string) (map[string][]byte, error) {
	files := map[string][]byte{}
	if folder != "" {
		entries, err := os.ReadDir(folder)
		if err != nil {
			return nil, err
		}
		for _, e := range entries {
			info, err := os.Stat(filepath.Join(folder, e.Name()))
			if err != nil {
				return nil, err
			}
			if !info.Mode().IsRegular() {
				return nil, fmt.Errorf("%s: is not a plain file, and would be lost in the new folder; move it out",
					filepath.Join(folder, e.Name()))
			}
			if files[e.Name()], err = os.ReadFile(filepath.Join(folder, e.Name())); err != nil {
				return nil, err
			}
		}
	}
	for _, name := range []string{CostsFile, HiddenFile, SettingsFile} {
		if _, ok := files[name]; ok {
			continue
		}
		text, err := fs.ReadFile(costs.Starter(), name)
		if err != nil {
			return nil, err
		}
		files[name] = text
	}
	if folder != "" {
		return files, nil
	}
	// The starter as a whole: a later starter must not change what was learned.
	entries, err := fs.ReadDir(costs.Starter(), ".")
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if files[e.Name()], err = fs.ReadFile(costs.Starter(), e.Name()); err != nil {
			return nil, err
		}
	}
	return files, nil
}

func learnedText(learned []Learned) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	rows := [][]string{{"build", "sold", "digest"}}
	for _, l := range learned {
		rows = append(rows, []string{l.Build, l.Sold, l.Digest})
	}
	err := w.WriteAll(rows)
	return b.Bytes(), err
}

// rowPlace is where a row stands in its file.
type rowPlace struct{ line, lines int }

// revise edits cells of named rows of a book or of rules.
func revise(name string, text []byte, edits map[string]Edit) ([]byte, error) {
	if len(edits) == 0 {
		return text, nil
	}
	if bytes.HasPrefix(text, []byte{0xff, 0xfe}) || bytes.HasPrefix(text, []byte{0xfe, 0xff}) {
		return nil, fmt.Errorf("%s: is UTF-16, which cannot be copied exactly; save it as CSV UTF-8 first", name)
	}
	source := tabular.NewCSV(name, bytes.NewReader(text))
	columns := tabular.ColumnsOf[rowName]()
	if name == HiddenFile {
		columns = tabular.ColumnsOf[ruleName]()
	}
	t, err := tabular.Open(source, tabular.Options{Columns: columns})
	if err != nil {
		return nil, err
	}
	places, err := rowPlaces(name, t)
	if err != nil {
		return nil, err
	}
	column := map[string]int{}
	for i, h := range t.Headers() {
		column[tabular.Canonical(h)] = i
	}
	lines := splitLines(text)
	for _, row := range sortedKeys(edits) {
		at, ok := places[row]
		if !ok {
			return nil, fmt.Errorf("%s: has no row %s", name, row)
		}
		from, to := at.line-1, at.line-1+at.lines
		if from < 0 || to > len(lines) {
			return nil, fmt.Errorf("%s: line %d cannot be found again; has the file changed?", name, at.line)
		}
		edited, err := editRow(bytes.Join(lines[from:to], nil), byte(source.Delimiter()), edits[row], column)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, at.line, err)
		}
		lines[from] = edited
		for i := from + 1; i < to; i++ {
			lines[i] = nil
		}
	}
	return bytes.Join(lines, nil), nil
}

func sortedKeys(m map[string]Edit) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// rowName and ruleName are the cells that name a row.
type (
	rowName struct {
		Zone  tabular.Cell `csv:"zone"`
		Class tabular.Cell `csv:"class"`
		Grade tabular.Cell `csv:"grade"`
	}
	ruleName struct {
		WhenZone  tabular.Cell `csv:"when_zone"`
		WhenClass tabular.Cell `csv:"when_class"`
		WhenGrade tabular.Cell `csv:"when_grade"`
		ThenZone  tabular.Cell `csv:"then_zone"`
		ThenClass tabular.Cell `csv:"then_class"`
		ThenGrade tabular.Cell `csv:"then_grade"`
		Segment   tabular.Cell `csv:"segment,omitempty"`
	}
)

// rowPlaces finds the rows by their names.
func rowPlaces(file string, t *tabular.Table) (places map[string]rowPlace, err error) {
	places = map[string]rowPlace{}
	var problems []tabular.Problem
	if file == HiddenFile {
		err = tabular.Rows(t, &problems, func(v *ruleName, k *tabular.Check) {
			r := costs.Rule{Segment: anyAs(v.Segment.Text(), "")}
			r.When, r.AnyZone = item(v.WhenZone, v.WhenClass, v.WhenGrade, "when_", "*", k.Bad)
			r.Then, r.Same = item(v.ThenZone, v.ThenClass, v.ThenGrade, "then_", "same", k.Bad)
			places[r.Name()] = rowPlace{k.Line, k.Lines}
		})
	} else {
		err = tabular.Rows(t, &problems, func(v *rowName, k *tabular.Check) {
			r := costs.Row{}
			r.Item, r.Any = item(v.Zone, v.Class, v.Grade, "", "*", k.Bad)
			places[r.Name()] = rowPlace{k.Line, k.Lines}
		})
	}
	if err == nil && len(problems) > 0 {
		err = tabular.Problems(problems)
	}
	return places, err
}

// splitLines splits a text into lines that keep their ends: LF, CRLF or CR.
func splitLines(text []byte) [][]byte {
	var lines [][]byte
	from := 0
	for i := 0; i < len(text); i++ {
		if text[i] == '\n' || text[i] == '\r' && (i+1 == len(text) || text[i+1] != '\n') {
			lines = append(lines, text[from:i+1:i+1])
			from = i + 1
		}
	}
	if from < len(text) {
		lines = append(lines, text[from:])
	}
	return lines
}

// editRow replaces cells of one record of a CSV, and leaves every other byte.
func editRow(row []byte, delimiter byte, edit Edit, column map[string]int) ([]byte, error) {
	spans := cellSpans(row, delimiter)
	wanted := map[int]string{}
	for name, text := range edit {
		i, ok := column[tabular.Canonical(name)]
		if !ok || i >= len(spans) {
			return nil, fmt.Errorf("there is no column %s to write to; add it to the header", name)
		}
		wanted[i] = text
	}
	var out []byte
	at := 0
	for i, s := range spans {
		text, ok := wanted[i]
		if !ok {
			continue
		}
		out = append(out, row[at:s[0]]...)
		if !utf8.Valid(row) { // read as Windows-1252, so written as that
			encoded, err := charmap.Windows1252.NewEncoder().String(text)
			if err != nil {
				return nil, fmt.Errorf("the row is Windows-1252 and has no letter for part of %q; save the file as CSV UTF-8 first",
					text)
			}
			text = encoded
		}
		if strings.ContainsAny(text, "\"\r\n,;\t") {
			text = `"` + strings.ReplaceAll(text, `"`, `""`) + `"`
		}
		out = append(out, text...)
		at = s[1]
	}
	return append(out, row[at:]...), nil
}

// cellSpans returns where each cell of a record begins and ends, quotes included
// and the line's end not.
func cellSpans(row []byte, delimiter byte) [][2]int {
	var spans [][2]int
	from, quoted := 0, false
	end := len(bytes.TrimRight(row, "\r\n"))
	for i := range end {
		switch {
		case row[i] == '"':
			quoted = !quoted
		case row[i] == delimiter && !quoted:
			spans = append(spans, [2]int{from, i})
			from = i + 1
		}
	}
	return append(spans, [2]int{from, end})
}
