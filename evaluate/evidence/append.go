package evidence

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/money"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// cell is a column's name and what a new row has there.
type cell struct{ column, text string }

// Learn adds finished builds to the evidence in a shop folder: each to builds.csv, its own sale to
// adverts.csv and its lot to results.csv, once by the build's name. predicted are the rows of
// builds.csv, beside the outcomes. What the files have stays as it is, but that a column may be added.
// It returns how many rows each file got, by its name.
func Learn(folder string, workshop *shop.Shop, outcomes []*build.Outcome,
	predicted []prices.Build) (map[string]int, error) {
	files, err := Read(folder, workshop)
	if err != nil {
		return nil, err
	}
	known := map[string]bool{}
	for _, b := range files.Builds {
		known[tabular.NameKey(b.Name)] = true
	}
	rows := map[string][][]cell{}
	for i, o := range outcomes {
		name := tabular.NameKey(o.Build.Name)
		if !known[name] {
			rows[shop.BuildsFile] = append(rows[shop.BuildsFile], buildCells(&predicted[i]))
		}
		if sale := saleCells(o); sale != nil && !files.SoldBuilds[name] {
			rows[shop.AdvertsFile] = append(rows[shop.AdvertsFile], sale)
		}
		if won := wonCells(o); won != nil && !files.WonBuilds[name] {
			rows[shop.ResultsFile] = append(rows[shop.ResultsFile], won)
		}
	}
	counts := map[string]int{}
	for name, c := range map[string]columns{shop.AdvertsFile: advertColumns, shop.ResultsFile: resultColumns,
		shop.BuildsFile: buildColumns} {
		if counts[name] = len(rows[name]); counts[name] == 0 {
			continue
		}
		if err := add(filepath.Join(folder, name), c, rows[name]); err != nil {
			return nil, err
		}
	}
	return counts, nil
}

func buildCells(b *prices.Build) []cell {
	c := []cell{{"build", b.Name}, {"sale_date", date(b.SaleDate)}, {"predicted", money.Plain(b.Predicted)},
		{"margin_sd", money.Plain(b.MarginSD)},
		{"repair_sd", money.Plain(b.RepairSD)}, {"u", money.Plain(b.U)}, {"realised", money.Plain(b.Realised)}, {"value",
			""}, {"tau", ""}}
	if b.Value.Known {
		c[7].text = money.Plain(b.Value.V)
	}
	if b.Tau.Known && b.Tau.V > 0 {
		c[8].text = money.Plain(b.Tau.V)
	}
	return c
}

// saleCells is an own sale as a row of adverts.csv; nil where year, odometer, model or the day is not known.
func saleCells(o *build.Outcome) []cell {
	k := &o.Frozen.Kept
	if k.Model == "" || k.Year == 0 || k.Odometer == 0 || o.Build.Sold.IsZero() || o.Build.Sale.Pence <= 0 {
		return nil
	}
	listed := ""
	if k.Value > 0 {
		listed = money.Plain(k.Value.Pounds())
	}
	c := []cell{{"make", k.Make}, {"model", k.Model}, {"segment", k.Segment}, {"year", strconv.Itoa(k.Year)},
		{"miles", strconv.Itoa(k.Odometer)},
		{"asked", ""}, {"marked", k.Category}, {"sold", date(o.Build.Sold)}, {"got",
			money.Plain(o.Build.Sale.Pence.Pounds())}, {"listed", listed},
		{"build", o.Build.Name}}
	if !o.Build.Listed.IsZero() {
		c = append(c, cell{"first_seen", date(o.Build.Listed)})
	}
	return c
}

// wonCells is the lot of a build as a row of results.csv; nil where the day of the sale is not known.
func wonCells(o *build.Outcome) []cell {
	k, e := &o.Frozen.Kept, o.Frozen.Evidence
	day := o.Build.Bought
	if e != nil && day.IsZero() {
		day, _ = time.Parse(time.DateOnly, e.SaleDate) // blank: not known
	}
	if day.IsZero() {
		return nil
	}
	vat := "margin"
	if k.Plus {
		vat = "plus"
	}
	c := []cell{{"lot", k.Lot}, {"make", k.Make}, {"model", k.Model}, {"segment", k.Segment}, {"year",
		strconv.Itoa(k.Year)}, {"odometer", strconv.Itoa(k.Odometer)},
		{"category", k.Category}, {"damage", k.Damage}, {"value", money.Plain(k.Value.Pounds())}, {"guide",
			money.Plain(k.Guide.Pounds())}, {"site", k.Site},
		{"vat", vat}, {"sale_date", date(day)}, {"hammer", money.Plain(o.Frozen.Hammer.Pounds())}, {"result", "sold"},
		{"won", "yes"}, {"build", o.Build.Name}}
	if e != nil {
		c = append(c, cell{"keys", e.Keys}, cell{"starts", e.Starts})
	}
	for i := range c {
		if c[i].text == "0" {
			c[i].text = "" // the list does not say
		}
	}
	return c
}

func date(day time.Time) string {
	return map[bool]string{true: "", false: day.Format(time.DateOnly)}[day.IsZero()]
}

// add adds rows to a file, which is made where it is not there. Where the file lacks a column that
// a row has something for, the column is added to all of it.
func add(path string, c columns, rows [][]cell) error {
	text, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		text, err = nil, nil
	}
	if err != nil {
		return err
	}
	delimiter, header, old, err := table(path, text)
	if err != nil {
		return err
	}
	before := len(header)
	for _, row := range rows {
		for _, x := range row {
			if c.at(header, x.column) < 0 && (x.text != "" || slices.Contains(c.needed, x.column)) {
				header = append(header, x.column)
			}
		}
	}
	var lines [][]string
	if len(header) > before {
		lines, text = append([][]string{header}, old...), nil
	}
	for _, row := range rows {
		out := make([]string, len(header))
		for _, x := range row {
			if i := c.at(header, x.column); i >= 0 {
				out[i] = x.text
			}
		}
		lines = append(lines, out)
	}
	return extend(path, text, delimiter, len(header), lines)
}

// extend writes a file's text and more rows, each of so many cells.
func extend(path string, text []byte, delimiter rune, cells int, rows [][]string) error {
	var b bytes.Buffer
	if b.Write(text); len(text) > 0 && text[len(text)-1] != '\n' {
		b.WriteByte('\n')
	}
	w := csv.NewWriter(&b)
	w.Comma = delimiter
	for _, row := range rows {
		for len(row) < cells {
			row = append(row, "")
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return errors.Join(w.Error(), tabular.WriteFile(path, b.Bytes()))
}

// table returns the header and the rows of a file's text.
func table(path string, text []byte) (delimiter rune, header []string, rows [][]string, err error) {
	if len(bytes.TrimSpace(text)) == 0 {
		return ',', nil, nil, nil
	}
	source := tabular.NewCSV(path, bytes.NewReader(text))
	for {
		r, err := source.Next()
		switch {
		case errors.Is(err, io.EOF):
			return source.Delimiter(), header, rows, nil
		case err != nil:
			return 0, nil, nil, err
		case r.Fault != "":
			return 0, nil, nil, fmt.Errorf("%s:%d: %s; nothing is added before that is put right", path, r.Line, r.Fault)
		case header == nil:
			for _, h := range r.Cells {
				header = append(header, strings.TrimSpace(h))
			}
		default:
			rows = append(rows, r.Cells)
		}
	}
}
