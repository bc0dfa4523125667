package lots_test

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// startedShop is the built-in shop, read once; it is not to be changed.
var startedShop *shop.Shop

// readText reads a list of CSV text as a file is read.
func readText(t *testing.T, text string) *lots.List {
	t.Helper()
	if startedShop == nil {
		startedShop = starter(t)
	}
	open := func() tabular.Source { return tabular.NewCSV("a.csv", strings.NewReader(text)) }
	list, err := lots.ReadList(open(), startedShop, lots.Reading{
		On:    lots.Day{Date: time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)},
		Again: func() (tabular.Source, io.Closer, error) { return open(), io.NopCloser(nil), nil }})
	if err != nil {
		t.Fatalf("%v:\n%s", err, text)
	}
	return list
}

// oneCell reads a list of one lot with one more column.
func oneCell(t *testing.T, header, cell string) (lot *evaluate.Lot, problems, notices string) {
	t.Helper()
	base := "lot,category,damage"
	row := "1,N,nose c2"
	if !strings.Contains(strings.ToLower(header), "value") {
		base, row = base+",value", row+",9400"
	}
	list := readText(t, base+","+header+"\n"+row+","+cell+"\n")
	var said []string
	for _, p := range list.Problems {
		said = append(said, p.Error())
	}
	if len(list.Lots) > 0 {
		lot = list.Lots[0]
	}
	return lot, strings.Join(said, "; "), strings.Join(list.Notices, "; ")
}

// What a header says of the cells below it: thousands, kilometres (1.609344 km a mile: international yard and pound
// agreement, 1959), and that yes is no.
func TestHeadersSayHowCellsAreRead(t *testing.T) {
	for _, tt := range []struct{ header, cell, want string }{
		{"Miles", "48210", "48210 0 "}, {"Miles (k)", "48", "48000 0 "}, {"Miles (k)", "48210", "48210 0 "},
		{"Km", "160934", "100000 0 "}, {"Mileage (km)", "160934", "100000 0 "}, {"Km", "100000 miles", "100000 0 "},
		{"Km/Miles", "160934 km", "100000 0 "}, {"Km/Miles", "48k miles", "48000 0 "},
		{"Km/Miles", "48210", "could be miles or kilometres; write 48210 miles or 48210 km"},
		{"Km/Miles", "48k", "could be miles or kilometres"}, {"Miles", "48", "may be in thousands"},
		{"Guide", "2200", "0 2200 "}, {"Guide (k)", "2.2", "0 2200 "}, {"Guide £k", "2.2", "0 2200 "},
		{"Guide (£000)", "2.2", "0 2200 "}, {"Guide (k)", "2.2k", "0 2200 "}, {"Guide (k)", "2-2.4", "0 2200 "},
		{"Guide (k)", "2200", `"2200" is in a column of thousands; write 2.2 for 2,200`}, {"Guide", "2.2", "is below 50"},
		{"Value (k)", "9.4", "0 0 "}, {"Value (k)", "9400", "in a column of thousands"},
		{"Keys", "y", "0 0 yes"}, {"Keys missing", "Y", "0 0 no"}, {"Keys missing?", "no", "0 0 yes"},
		{"Keys missing", "?", "0 0 unknown"}, {"Keys missing", "missing", "0 0 no"},
		{"Keys missing", "none", "is not one of"},
		{"Keys missing", "2", "is not one of"}, {"Keys missing", "", "0 0 unknown"},
	} {
		lot, problems, notices := oneCell(t, tt.header, tt.cell)
		got := problems
		if lot != nil && problems == "" {
			got = fmt.Sprintf("%d %v %s", lot.Odometer, lot.Guide.Pounds(), lot.Keys)
			if strings.Contains(notices, "the lot is read without it") {
				got = notices
			}
		}
		if ok := got == tt.want || len(tt.want) > 14 && strings.Contains(got, tt.want) ||
			strings.HasPrefix(tt.want, "is ") && strings.Contains(got, tt.want); !ok {
			t.Errorf("%s: %q is read as %q, want %q", tt.header, tt.cell, got, tt.want)
		}
		if strings.HasPrefix(tt.header, "Value (k)") && problems == "" && lot.Value.Pounds() != 9400 {
			t.Errorf("%s: %q is a value of %v", tt.header, tt.cell, lot.Value)
		}
	}
	for cell, want := range map[string]string{"Y": "no", "no": "yes", "non runner": "no", "runs": "yes",
		"untested": "unknown"} {
		lot, problems, notices := oneCell(t, "Non-runner", cell)
		if lot == nil || lot.Starts != want || !strings.Contains(notices, `"Non-runner" is the opposite of starts`) {
			t.Errorf("non-runner %q: %v %s %s, want %s", cell, lot, problems, notices, want)
		}
	}
}

// The ends of a guide range in brackets are two columns, and the guide is their middle.
func TestGuideEndsInBrackets(t *testing.T) {
	for _, headers := range []string{"Guide (low),Guide (high)", "Guide min,Guide max", "Lower estimate,Upper estimate"} {
		list := readText(t, "lot,category,damage,value,"+headers+"\n1,N,nose c2,9400,1200,1600\n2,N,nose c2,9400,,\n")
		if len(list.Lots) != 2 || list.Lots[0].Guide.Pounds() != 1400 || list.Lots[1].Guide != 0 {
			t.Errorf("%s: %v %v", headers, list.Problems, list.Notices)
		}
	}
}

// A year in front of the name counts where the list has no column of years.
func TestYearInFrontOfTheName(t *testing.T) {
	for name, want := range map[string]string{"2019 Velmary Tiffet": "2019 Velmary Tiffet",
		"Velmary 2008": "0 Velmary 2008",
		"2008":         "0 2008", "2044 Tiffet": "0 2044 Tiffet", "500 Tiffet": "0 500 Tiffet"} {
		lot, problems, _ := oneCell(t, "vehicle", name)
		if got := fmt.Sprint(lot.Year, " ", lot.Model); problems != "" || got != want {
			t.Errorf("%q: %q %s, want %q", name, got, problems, want)
		}
	}
	if lot, _, _ := oneCell(t, "vehicle,year", "2008 Tiffet,2019"); lot.Year != 2019 || lot.Model != "2008 Tiffet" {
		t.Errorf("beside a column of years: %+v", lot)
	}
}

// A guide above the value is said: mostly the two columns were swapped.
func TestGuideAboveValue(t *testing.T) {
	const say = "the guide price is above the value"
	if _, _, notices := oneCell(t, "guide", "9500"); !strings.Contains(notices, say) {
		t.Errorf("nothing is said: %s", notices)
	}
	if _, _, notices := oneCell(t, "guide", "9400"); strings.Contains(notices, say) {
		t.Errorf("said of equal ones: %s", notices)
	}
}

// Words for a zone in two words and in the other order are zones; those that say a side alone are asked about: common
// practice, no source.
func TestZonesInTwoWords(t *testing.T) {
	for code, want := range map[string]string{"front off c2": "front-off c2", "off front c2": "front-off c2",
		"Rear Near c3 m2": "rear-near c3 m2", "side off c1; side near c1": "side-near c1; side-off c1", "front c2": "nose c2",
		"o/s c2": "?", "near side c2": "?", "off side c2": "?", "drivers side c2": "?", "p/s c2": "?", "rr c2": "?",
		"side c2":   "?",
		"corner m2": "?", "nose s5": "?", "c2 nose": "?", "nose c2 70%": "?",
	} {
		lot, problems, _ := oneCell(t, "note", "x")
		list := readText(t, "lot,category,damage,value\n1,N,"+code+",9400\n")
		switch {
		case lot == nil || problems != "":
			t.Fatal(problems)
		case want == "?" && len(list.Problems) != 1:
			t.Errorf("%q is read as %v", code, list.Lots)
		case want != "?" && (len(list.Lots) != 1 || list.Lots[0].Code.String() != want):
			t.Errorf("%q: %v, want %s", code, list.Problems, want)
		}
	}
}

// A list that goes on under another header is read by it, and a ditto mark is the cell above, never of another list.
func TestLaterHeadersAndDittos(t *testing.T) {
	list := readText(t, "Lot,Cat,Damage,Value,Guide,Miles\n1,N,nose c2,9400,1900,50000\n2,\",tail c2,do.,1800,\"\n"+
		"Lot,Cat,Damage,Guide,Value,Km\n3,N,nose c2,2000,9900,80000\n4,ditto,nose c3,2100,9900,80000\nTotal,,,4100,19800,\n"+
		"Lot,Guide,Worth,Cat,Damage,Miles\n5,700,8000,S,ditto,60000\n6,800,8100,S,nose s2,61000\n"+
		"Lot,Cat,Damage,Value,Guide,Miles\n7,N,nose c2,9400,1900,50000\n")
	got := map[string]string{}
	for _, lot := range list.Lots {
		got[lot.Number] = fmt.Sprint(lot.Category, " ", lot.Code, " ", lot.Value.Pounds(), " ", lot.Guide.Pounds(), " ",
			lot.Odometer)
	}
	want := map[string]string{"1": "N nose c2 9400 1900 50000", "2": "N tail c2 9400 1800 50000",
		"3": "N nose c2 9900 2000 0", "4": "N nose c3 9900 2100 0", "6": "S nose s2 8100 800 61000",
		"7": "N nose c2 9400 1900 50000"}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("read %v\nwant %v", got, want)
	}
	if len(list.Problems) != 1 || !strings.Contains(list.Problems[0].Error(), `a.csv:9: Damage: "ditto"`) {
		t.Errorf("a ditto below a header: %v", list.Problems)
	}
	all := strings.Join(list.Notices, "\n")
	for _, say := range []string{"line 4 is a header again", `ignored: "Km"`,
		"ditto marks are read as the cell above: 4 cells",
		"3 repeated headers"} {
		if !strings.Contains(all, say) {
			t.Errorf("%q is not said:\n%s", say, all)
		}
	}
}

// The line of the header that was saved with a map counts for the next such list, and not for a list with other headers
// there; a line that no row starts on is said.
func TestSavedHeaderRow(t *testing.T) {
	weekly := lots.Mapping{Name: "weekly", Columns: map[string]string{"lot": "A", "category": "B", "damage": "C",
		"value": "D"},
		HeaderRow: 3}
	read := func(text string, how lots.Reading) (*lots.List, error) {
		open := func() tabular.Source { return tabular.NewCSV("a.csv", strings.NewReader(text)) }
		how.Again = func() (tabular.Source, io.Closer, error) { return open(), io.NopCloser(nil), nil }
		return lots.ReadList(open(), starter(t), how)
	}
	decoy := "Lot,Cat,Damage,Value,Guide,Make,Model\nold,old,old,old,old,old,old\nA,B,C,D,E,F,G\n1,N,nose c2,9400,,,\n"
	list, err := read(decoy, lots.Reading{Saved: []lots.Mapping{weekly}})
	if err != nil || len(list.Lots) != 1 || list.Lots[0].Number != "1" || list.Used.HeaderRow != 3 {
		t.Errorf("%+v, %v", list, err)
	}
	moved := "A,B,C,D\n1,N,nose c2,9400\n2,N,nose c2,9500\n"
	if list, err = read(moved, lots.Reading{Saved: []lots.Mapping{weekly}}); err != nil || len(list.Lots) != 2 {
		t.Errorf("the header on another line: %+v, %v", list, err)
	}
	deep := strings.Repeat("a line of text\n", 44) + "Lot,Cat,Damage,Value\n1,N,nose c2,9400\n"
	if list, err = read(deep, lots.Reading{HeaderRow: 45}); err != nil || len(list.Lots) != 1 {
		t.Errorf("the header on line 45: %+v, %v", list, err)
	}
	if _, err = read(deep, lots.Reading{HeaderRow: 99}); err == nil || !strings.Contains(err.Error(),
		"line 99 is not the start of a row") {
		t.Errorf("a header on line 99: %v", err)
	}
}

// Read as a stream, where no row's reading depends on another's, a blank below a merged cell is asked about.
func TestMergedCellsOfAStream(t *testing.T) {
	book := bookOf(
		t,
		"lot\tcategory\tdamage\tvalue\tsite\n1\tN\tnose c2\t9400\t{2}Tolloway\n2\tN\tnose c2\t9400\t^\n3\tN\tnose c2\t9400\tMarrow Fen\n",
	)
	source, err := tabular.OpenWorkbook("a.xlsx", bytes.NewReader(book), int64(len(book)), "")
	if err != nil {
		t.Fatal(err)
	}
	list, err := lots.ReadList(source, starter(t), lots.Reading{})
	if err != nil || len(list.Lots) != 2 || len(list.Problems) != 1 || !strings.Contains(list.Problems[0].Error(),
		"site: is blank; if the cell above is meant for this row too") {
		t.Errorf("%+v, %v", list, err)
	}
}

// A row that has its site from a heading, a ditto or a merged cell says the same when it is written as rejected and read
// alone; no ditto mark stands for a lot number or a plate.
func TestRejectedRowsSayTheSame(t *testing.T) {
	text := "Lot,Reg,Cat,Damage,Value,Site\nTolloway,,,,,\n1,AB12CDE,N,nose c2,9400,\n2,\",\",nose c2,94O0,\n" +
		"Lot,Value,Cat,Damage,Site,Reg\n3,94O0,N,nose c2,,XY12ABC\n\",9400,N,nose c2,,\n"
	open := func() tabular.Source { return tabular.NewCSV("a.csv", strings.NewReader(text)) }
	all, err := lots.OpenLots(open(), starter(t), lots.Reading{
		Again: func() (tabular.Source, io.Closer, error) { return open(), io.NopCloser(nil), nil }})
	if err != nil {
		t.Fatal(err)
	}
	var raw, numbers []string
	for row, err := range all.All() {
		if err != nil {
			t.Fatal(err)
		}
		if len(row.Problems) > 0 {
			raw = append(raw, row.Raw)
		}
		if row.Lot != nil {
			numbers = append(numbers, row.Lot.Number+" "+row.Lot.Registration)
		}
	}
	want := []string{`2,"""",N,nose c2,94O0,Tolloway`, "3,XY12ABC,N,nose c2,94O0,Tolloway", `"""",,N,nose c2,9400,Tolloway`}
	if strings.Join(raw, "\n") != strings.Join(want, "\n") {
		t.Errorf("rejected\n%s\nwant\n%s", strings.Join(raw, "\n"), strings.Join(want, "\n"))
	}
	if got := strings.Join(numbers, ", "); got != "1 AB12CDE, 2 \", 3 XY12ABC, \" " {
		t.Errorf("numbers and plates %s", got)
	}
}
