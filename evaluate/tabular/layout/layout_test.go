package layout_test

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

func isNumber(text string) bool {
	_, err := strconv.ParseFloat(strings.ReplaceAll(text, ",", ""), 64)
	return err == nil
}

func options() layout.Options {
	column := func(name string, needed bool, fits func(string) bool, called ...string) layout.Column {
		return layout.Column{Column: tabular.Column{Name: name, Required: needed}, Called: called, Fits: fits,
			Filled: needed, Figures: fits != nil}
	}
	o := layout.Options{Key: "number", Columns: []layout.Column{
		column("number", true, isNumber, "no"), column("words", false, nil, "text"), column("price", true, isNumber, "cost",
			"what it cost"), column("weight", false, isNumber, "mass"),
		column("site", false, nil),
	}}
	o.Heading = func(text string, _ bool) (map[string]string, bool) {
		name, ok := strings.CutPrefix(text, "at ")
		return map[string]string{"site": name}, ok
	}
	return o
}

// arranged reads a text, and returns the rows as number=price with the site behind, and all that was said.
func arranged(t *testing.T, text string, o layout.Options) (rows []string, notices string) {
	t.Helper()
	plan, err := layout.Survey(tabular.NewCSV("f.csv", strings.NewReader(text)), o)
	if err != nil {
		t.Fatal(err)
	}
	if lacks := plan.Wanting(); lacks != "" {
		return []string{lacks}, ""
	}
	source := plan.Arrange(tabular.NewCSV("f.csv", strings.NewReader(text)))
	at := plan.At()
	if _, err := source.Next(); err != nil {
		t.Fatal(err)
	}
	site := slices.Index(plan.Headers(), "site")
	for {
		r, err := source.Next()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if r.Fault != "" {
			rows = append(rows, "fault")
			continue
		}
		row := fmt.Sprintf("%s=%s", r.Cells[at["number"]], r.Cells[at["price"]])
		if site >= 0 && r.Cells[site] != "" {
			row += "@" + r.Cells[site]
		}
		rows = append(rows, row)
	}
	return rows, strings.Join(source.Notices(), "\n")
}

func TestArrange(t *testing.T) {
	for _, tt := range []struct{ why, text, rows, said string }{
		{"titles, totals, feet",
			"Our list,,,\n\nNo,Words,Cost,Mass\n1,a,10,5\n2,b,20,6\nSub total,,30,\nPage 1 of " +
				"2,,,\nNo,Words,Cost,Mass\n3,c,40,7\nGrand total,,70,\n", "1=10 2=20 3=40", "1 repeated header, 2 rows of " +
				"totals, 1 page foot"},
		{"figures that are the sums", "no,words,cost,mass\n1,a,10,5\n2,b,20,6\n,,30,11\n", "1=10 2=20",
			"line 4 is skipped: its figures are the sums of those above"},
		{"figures that are none", "no,words,cost,mass\n1,a,10,5\n,,31,11\n", "1=10 =31", ""},
		{"headings", "no,words,cost,mass\nat Fen\n1,a,10,5\nat Hill,,,\n2,b,20,6\n", "1=10@Fen 2=20@Hill",
			"2 headings between the rows"},
		{"a heading that nobody knows", "no,words,cost,mass\nat Fen\n1,a,10,5\nElsewhere,,,\n2,b,20,6\n",
			"1=10@Fen 2=20@Elsewhere", `skipped as text: line 4 "Elsewhere"`},
		{"a comma within words", "no,words,cost,mass\n1,a, and b,10,5\n", "1=10", "fits no other way"},
		{"a comma within words or a price", "no,words,cost,mass\n1,a,1,000,5\n", "fault", ""},
		{"last cells missing", "no,words,cost,mass\n1,a,10\n", "1=10", "its last cells are missing"},
		{"a cell lost among them", "no,words,cost,mass\n1,a 10,5\n", "fault", ""},
		{"a semicolon in the title only", "A list; of ours\nno,words,cost,mass\n1,a,10,5\n", "1=10",
			"the header is on line 2"},
		{"a slip in a header", "no,words,waht it cost,mass\n1,a,10,5\n", "1=10", ""},
		{"two headers for one column", "no,words,cost,what it cost\n1,a,10,5\n",
			`"cost" and "what it cost" could each be the column price; say which with --map price="cost"`, ""},
		{"a header that says one thing and cells that say another", "no,price,cost,mass\n1,dear,10,5\n", "1=10", ""},
		{"nothing known", "x,y,z\n1,a,10\n",
			`no column for number, price; the file also has "x", "y", "z"; write --map number="its header" --map price="its header"`, ""},
	} {
		rows, said := arranged(t, tt.text, options())
		if got := strings.Join(rows, " "); got != tt.rows && !(strings.Contains(tt.rows, "could each") &&
			strings.HasPrefix(got, tt.rows)) {
			t.Errorf("%s: %s, want %s", tt.why, got, tt.rows)
		}
		if !strings.Contains(said, tt.said) {
			t.Errorf("%s: said %s, want %s", tt.why, said, tt.said)
		}
	}
}

// A row's own columns never depend on how many rows there are: a long list is read as a short one.
func TestLongList(t *testing.T) {
	var b strings.Builder
	b.WriteString("A title\nno,words,cost,mass\n")
	for i := range 2000 {
		fmt.Fprintf(&b, "%d,a,%d,1\n", i, i+1)
	}
	rows, _ := arranged(t, b.String(), options())
	if len(rows) != 2000 || rows[1999] != "1999=2000" {
		t.Fatalf("%d rows, the last %s", len(rows), rows[len(rows)-1])
	}
}
