package tabular_test

import (
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"

	"wreckoner/evaluate/tabular"
)

var lotColumns = []tabular.Column{
	{Name: "lot", Required: true}, {Name: "value", Required: true}, {Name: "damage", Required: true, Or: "description"},
	{Name: "description"}, {Name: "collect_by"}, {Name: "guide"},
}

type lotRow struct {
	Lot         tabular.Cell `csv:"lot"`
	Value       tabular.Cell `csv:"value"`
	Damage      tabular.Cell `csv:"damage"`
	Description tabular.Cell `csv:"description"`
	CollectBy   tabular.Cell `csv:"collect_by"`
}

func open(t *testing.T, file string, o tabular.Options) *tabular.Table {
	t.Helper()
	if o.Columns == nil {
		o.Columns = lotColumns
	}
	table, err := tabular.Open(tabular.NewCSV("lots.csv", strings.NewReader(file)), o)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func rows(t *testing.T, table *tabular.Table) (rows []tabular.Row[lotRow]) {
	t.Helper()
	for row, err := range tabular.Read[lotRow](table) {
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, row)
	}
	return rows
}

func TestHeadersMatchWhateverTheirCase(t *testing.T) {
	table := open(t, " LOT ,Val_Ue,dam-age,Collect By,Log book,Éton,\n1,2,nose s2,,yes,x,\n", tabular.Options{})
	if diff := cmp.Diff([]string{"Log book", "Éton"}, table.Extra()); diff != "" {
		t.Error(diff)
	}
	for name, want := range map[string]string{"lot": "LOT", "value": "Val_Ue", "collect_by": "Collect By",
		"logbook": "Log book", "éton": "Éton", "guide": "guide"} {
		if got := table.Header(name); got != want {
			t.Errorf("Header(%q) = %q, want %q", name, got, want)
		}
	}
	if table.Has("guide") || !table.Has("log_book") || !table.Has("Collect-by") {
		t.Error("Has is wrong")
	}
	row := rows(t, table)[0]
	v := row.Values
	if v.Lot.Text() != "1" || v.Value.Text() != "2" || v.Damage.Text() != "nose s2" {
		t.Errorf("got %+v", v)
	}
	if v.Description.State != tabular.Absent || v.CollectBy.State != tabular.Blank {
		t.Errorf("description is %v, collect_by %v", v.Description.State, v.CollectBy.State)
	}
	for name, want := range map[string]tabular.Cell{
		"log book": {Raw: "yes", State: tabular.Given}, "ÉTON": {Raw: "x", State: tabular.Given},
		"lot": {Raw: "1", State: tabular.Given}, "guide": {}, "nothing": {}, "": {},
	} {
		if got := row.Cell(name); got != want {
			t.Errorf("Cell(%q) = %+v, want %+v", name, got, want)
		}
	}
	want := []string{"lots.csv: column 7 has no header and is not read"}
	if diff := cmp.Diff(want, table.Notices()); diff != "" {
		t.Error(diff)
	}
}

func TestHeaderProblems(t *testing.T) {
	for _, test := range []struct {
		name, file string
		o          tabular.Options
		want       []string
	}{
		{"empty file", "\n\n", tabular.Options{}, []string{"lots.csv: is empty; the first line must name the columns"}},
		{"missing, with a near one", "\nlot,Est value,damage\n", tabular.Options{},
			[]string{`lots.csv:2: no column "value"; did you mean "Est value"? use --map value="Est value"`}},
		{"missing, nothing near", "lot,damage,Price\n", tabular.Options{},
			[]string{`lots.csv:1: no column "value"; the file has "lot", "damage", "Price"; if one of them is it, use --map value="its header"`}},
		{"one of two missing", "lot,value\n", tabular.Options{},
			[]string{`lots.csv:1: no column "damage" or "description"; the file has "lot", "value"; if one of them is it, use --map damage="its header"`}},
		{"one of two missing, the other near", "lot,value,Descripton\n", tabular.Options{},
			[]string{`lots.csv:1: no column "damage" or "description"; did you mean "Descripton"? use --map description="Descripton"`}},
		{"one of two missing, one header near either", "lot,value,Damage notes\n", tabular.Options{},
			[]string{`lots.csv:1: no column "damage" or "description"; did you mean "Damage notes"? use --map damage="Damage notes" or --map description="Damage notes"`}},
		{"a taken header is not suggested", "lot,lot value,damage\n",
			tabular.Options{Map: map[string]string{"guide": "lot value"}},
			[]string{`lots.csv:1: no column "value"; the file has "lot", "lot value", "damage"; if one of them is it, use --map value="its header"`}},
		{"wanted twice", "lot,value,Value,damage,VALUE\n", tabular.Options{},
			[]string{`lots.csv:1: columns 2, 3 and 5 are all called "value"; rename all but one`}},
		{"mapped to nothing", "lot,Est value,damage\n", tabular.Options{Map: map[string]string{"value": "Est valeu",
			"guide": "zzz"}},
			[]string{`lots.csv:1: --map guide="zzz": the file has no such header; the file has "lot", "Est value", "damage"`,
				`lots.csv:1: --map value="Est valeu": the file has no such header; did you mean value="Est value"?`}},
		{"mapping an unknown column", "lot,value,damage\n", tabular.Options{Map: map[string]string{"vlaue": "value"}},
			[]string{`lots.csv:1: --map vlaue="value": there is no column "vlaue" to read; did you mean value="value"?`}},
		{"mapped to a header that is there twice", "lot,Est,Est,damage\n",
			tabular.Options{Map: map[string]string{"value": "Est"}},
			[]string{`lots.csv:1: --map value="Est": columns 2 and 3 are all called that; rename all but one`}},
		{"a quote in the header", "lot,19\" value,damage\n1,2,3\n", tabular.Options{}, []string{"lots.csv:1: " + bareQuote}},
		{"escapes do not reach the terminal", "lot,\x1b[2Jvalue,damage\n", tabular.Options{},
			[]string{`lots.csv:1: no column "value"; did you mean "\x1b[2Jvalue"? use --map value="\x1b[2Jvalue"`}},
	} {
		t.Run(test.name, func(t *testing.T) {
			test.o.Columns = lotColumns
			_, err := tabular.Open(tabular.NewCSV("lots.csv", strings.NewReader(test.file)), test.o)
			var problems tabular.Problems
			if !errors.As(err, &problems) {
				t.Fatalf("got %v", err)
			}
			if diff := cmp.Diff(test.want, strings.Split(err.Error(), "\n")); diff != "" {
				t.Error(diff)
			}
			var one tabular.Problem
			if !errors.As(err, &one) || one.Error() != test.want[0] {
				t.Errorf("as one problem: %v", one)
			}
		})
	}
}

func TestMap(t *testing.T) {
	const file = "lot,value,Est value,est-value,Notes\n1,10,20,30,nose s2\n"
	for _, test := range []struct {
		name    string
		o       tabular.Options
		value   string
		extra   []string
		notices []string
	}{
		{"the map goes before the file's own", tabular.Options{Map: map[string]string{"VALUE": "Est value",
			"damage": "Notes"}}, "20",
			[]string{"value"}, []string{`lots.csv: column 4 is a second "est-value"; the first one is read`}},
		{"spelled exactly", tabular.Options{Map: map[string]string{"value": "est-value", "damage": "notes"}}, "30",
			[]string{"value", "Est value"}, nil},
		{"the file's own goes before a saved one", tabular.Options{Saved: map[string]string{"value": "Est value",
			"damage": "Notes", "guide": "Price", "other": "Notes"}}, "10",
			[]string{"Est value"}, []string{`lots.csv: the saved mapping has guide="Price", but the file has no such header`,
				`lots.csv: column 4 is a second "est-value"; the first one is read`}},
		{"two columns from one header", tabular.Options{Map: map[string]string{"damage": "Notes", "description": "Notes"}},
			"10",
			[]string{"Est value"}, []string{`lots.csv: column 4 is a second "est-value"; the first one is read`}},
	} {
		t.Run(test.name, func(t *testing.T) {
			table := open(t, file, test.o)
			row := rows(t, table)[0]
			if got := row.Values.Value.Text(); got != test.value {
				t.Errorf("value is %q, want %q", got, test.value)
			}
			if got := row.Values.Damage.Text(); got != "nose s2" {
				t.Errorf("damage is %q", got)
			}
			if diff := cmp.Diff(test.extra, table.Extra()); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(test.notices, table.Notices()); diff != "" {
				t.Error(diff)
			}
			if test.o.Map["description"] != "" && row.Values.Description.Text() != "nose s2" {
				t.Errorf("description is %+v", row.Values.Description)
			}
		})
	}
}

func TestProblemsOfRows(t *testing.T) {
	table := open(t, "Lot;Value;Damage\n1;12OO;nose s2\n\n2;\"1250\n\";\"x\ny\"\n3;4\n5;6;7\n", tabular.Options{})
	var got []string
	for _, row := range rows(t, table) {
		if row.Problem != nil {
			got = append(got, row.Problem.Error())
			if diff := cmp.Diff(lotRow{}, row.Values); diff != "" {
				t.Error(diff)
			}
			continue
		}
		n, err := row.Values.Value.Number(0, 1e6)
		if err != nil {
			got = append(got, row.At("value", err).Error())
			continue
		}
		got = append(got, row.Values.Lot.Text()+" "+said(n, nil)+" "+row.Whole(errors.New("is odd")).Error())
	}
	want := []string{
		`lots.csv:2: Value: "12OO" is not a number; write 1250 or 1,250.5`,
		"2 1250 lots.csv:4: is odd",
		"lots.csv:7: " + cells("2 cells", 3),
		"5 6 lots.csv:8: is odd",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if table.HeaderRaw() != "Lot;Value;Damage" || table.HeaderLine() != 1 || table.File() != "lots.csv" ||
		table.Sheet() != "" {
		t.Errorf("header %q, line %d", table.HeaderRaw(), table.HeaderLine())
	}
}

func TestProblemText(t *testing.T) {
	for _, test := range []struct {
		p    tabular.Problem
		want string
	}{
		{tabular.Problem{File: "lots.csv", Line: 17, Column: "value", Message: "is blank"}, "lots.csv:17: value: is blank"},
		{tabular.Problem{File: "lots.csv", Line: 17, Message: "is odd"}, "lots.csv:17: is odd"},
		{tabular.Problem{File: "lots.csv", Message: "is empty"}, "lots.csv: is empty"},
		{tabular.Problem{File: "lots.xlsx", Sheet: "Lots", Line: 5, Column: "value", Message: "is blank"},
			"lots.xlsx: sheet Lots, row 5: value: is blank"},
		{tabular.Problem{File: "lots.xlsx", Sheet: "Lots", Message: "is empty"}, "lots.xlsx: sheet Lots: is empty"},
		{tabular.Problem{Line: 3, Column: "x", Message: "is odd"}, "line 3: x: is odd"},
	} {
		if got := test.p.Error(); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
	got, err := json.Marshal(tabular.Problem{File: "a", Line: 1, Column: "b", Text: "c", Message: "d"})
	if want := `{"file":"a","line":1,"column":"b","text":"c","problem":"d"}`; err != nil || string(got) != want {
		t.Errorf("got %s, %v, want %s", got, err, want)
	}
}

// More rows than are bound at once, with faults among them, come in order.
func TestBatches(t *testing.T) {
	var b strings.Builder
	b.WriteString("lot,value,damage\n")
	for i := range 3000 {
		switch {
		case i%7 == 3:
			b.WriteString("x\n")
		case i%300 == 5:
			b.WriteString("a," + strings.Repeat("v", 700_000) + ",b\n")
		default:
			b.WriteString("a,b,c\n")
		}
	}
	line := 1
	for _, row := range rows(t, open(t, b.String(), tabular.Options{})) {
		line++
		i := line - 2
		if row.Line != line || (row.Problem != nil) != (i%7 == 3) {
			t.Fatalf("line %d: %d %v", line, row.Line, row.Problem)
		}
		if row.Problem == nil && (row.Values.Lot.Raw != "a" || (len(row.Values.Value.Raw) > 1) != (i%300 == 5)) {
			t.Fatalf("line %d: %.100v", line, row.Values)
		}
	}
	if line != 3001 {
		t.Errorf("%d lines", line)
	}
	n := 0
	for range tabular.Read[lotRow](open(t, b.String(), tabular.Options{})) {
		if n++; n == 10 {
			break
		}
	}
}

func TestReadErrorEndsTheRows(t *testing.T) {
	broken := errors.New("broken")
	r := io.MultiReader(strings.NewReader("lot,value,damage\n1,2,3\n"), iotest.ErrReader(broken))
	table, err := tabular.Open(tabular.NewCSV("lots.csv", r), tabular.Options{Columns: lotColumns})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for row, err := range tabular.Read[lotRow](table) {
		got = append(got, said(row.Values.Lot.Text(), err))
	}
	if diff := cmp.Diff([]string{"1", "! lots.csv: cannot be read: broken"}, got); diff != "" {
		t.Error(diff)
	}
	if _, err := tabular.Open(tabular.NewCSV("lots.csv", iotest.ErrReader(broken)), tabular.Options{}); !errors.Is(err,
		broken) {
		t.Errorf("at the header: got %v", err)
	}
}

// sheet is a source that is no text file.
type sheet struct{ rows [][]string }

func (s *sheet) Place() (file, name string) { return "lots.xlsx", "Lots" }
func (s *sheet) Notices() []string          { return nil }
func (s *sheet) Next() (tabular.Record, error) {
	if len(s.rows) == 0 {
		return tabular.Record{}, io.EOF
	}
	cells := s.rows[0]
	s.rows = s.rows[1:]
	return tabular.Record{Line: 10 - len(s.rows), Lines: 1, Raw: strings.Join(cells, "\t"), Cells: cells}, nil
}

func TestOtherSources(t *testing.T) {
	table, err := tabular.Open(&sheet{[][]string{{"lot", "value", "damage"}, {"1", "x"}}},
		tabular.Options{Columns: lotColumns})
	if err != nil {
		t.Fatal(err)
	}
	row := rows(t, table)[0]
	_, err = row.Values.Value.Number(0, 1)
	if got, want := row.At("value",
		err).Error(), `lots.xlsx: sheet Lots, row 10: value: "x" is not a number; write 1250 or 1,250.5`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestMistakesOfTheProgrammer(t *testing.T) {
	panics := func(name string, f func(*tabular.Table)) {
		defer func() {
			if recover() == nil {
				t.Errorf("%s: no panic", name)
			}
		}()
		f(open(t, "lot,value,damage\n", tabular.Options{}))
	}
	panics("not wanted", func(table *tabular.Table) {
		tabular.Read[struct {
			X tabular.Cell `csv:"lots"`
		}](table)
	})
	panics("not a Cell", func(table *tabular.Table) {
		tabular.Read[struct {
			X string `csv:"lot"`
		}](table)
	})
	panics("no tag", func(table *tabular.Table) { tabular.Read[struct{ Lot tabular.Cell }](table) })
	panics("no struct", func(table *tabular.Table) { tabular.Read[string](table) })
	panics("an option", func(table *tabular.Table) {
		tabular.Read[struct {
			X tabular.Cell `csv:"lot,default=1"`
		}](table)
	})
}
