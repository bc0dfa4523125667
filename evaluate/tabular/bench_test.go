package tabular_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
)

type wideRow struct {
	Lot      tabular.Cell `csv:"lot"`
	Make     tabular.Cell `csv:"make"`
	Model    tabular.Cell `csv:"model"`
	Year     tabular.Cell `csv:"year"`
	Odometer tabular.Cell `csv:"odometer"`
	Segment  tabular.Cell `csv:"segment"`
	Category tabular.Cell `csv:"category"`
	Damage   tabular.Cell `csv:"damage"`
	Value    tabular.Cell `csv:"value"`
	Guide    tabular.Cell `csv:"guide"`
	Site     tabular.Cell `csv:"site"`
	Note     tabular.Cell `csv:"note"`
}

const wideHeader = "lot,make,model,year,odometer,segment,category,damage,value,guide,site,note"

func wideColumns() []tabular.Column {
	var columns []tabular.Column
	for _, name := range strings.Split(wideHeader, ",") {
		columns = append(columns, tabular.Column{Name: name, Required: true})
	}
	return columns
}

func wideFile(rows int, quoted bool) []byte {
	var b bytes.Buffer
	b.WriteString(wideHeader + "\n")
	for i := range rows {
		line := fmt.Sprintf("%d,Brantholt,Corva,%d,%d,family,S,nose s2 c3; bay m1?,%d,%d,northfield,runs and drives\n", i,
			2005+i%20, 1000*i%200_000, 4000+i%9000, 900+i%3000)
		if quoted {
			line = `"` + strings.ReplaceAll(strings.TrimSuffix(line, "\n"), ",", `","`) + "\"\n"
		}
		b.WriteString(line)
	}
	return b.Bytes()
}

const benchRows = 100_000

func perRow(b *testing.B, rows int) {
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkRead(b *testing.B) {
	for _, quoted := range []bool{false, true} {
		file := wideFile(benchRows, quoted)
		name := map[bool]string{false: "plain", true: "quoted"}[quoted]
		b.Run("encoding/csv/"+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r := csv.NewReader(bytes.NewReader(file))
				n := 0
				for {
					if _, err := r.Read(); err == io.EOF {
						break
					} else if err != nil {
						b.Fatal(err)
					}
					n++
				}
				if n != benchRows+1 {
					b.Fatal(n)
				}
			}
			perRow(b, benchRows)
		})
		b.Run("records/"+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s := tabular.NewCSV("f.csv", bytes.NewReader(file))
				n := 0
				for {
					if _, err := s.Next(); err == io.EOF {
						break
					} else if err != nil {
						b.Fatal(err)
					}
					n++
				}
				if n != benchRows+1 {
					b.Fatal(n)
				}
			}
			perRow(b, benchRows)
		})
		b.Run("bound/"+name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				table, err := tabular.Open(tabular.NewCSV("f.csv", bytes.NewReader(file)), tabular.Options{Columns: wideColumns()})
				if err != nil {
					b.Fatal(err)
				}
				n := 0
				for row, err := range tabular.Read[wideRow](table) {
					if err != nil || row.Problem != nil || !row.Values.Note.Given() {
						b.Fatal(err, row)
					}
					n++
				}
				if n != benchRows {
					b.Fatal(n)
				}
			}
			perRow(b, benchRows)
		})
	}
	blank := bytes.Repeat([]byte("\n"), 1_000_000)
	b.Run("a million blank lines", func(b *testing.B) {
		for b.Loop() {
			if _, err := tabular.NewCSV("f.csv", bytes.NewReader(blank)).Next(); err != io.EOF {
				b.Fatal(err)
			}
		}
	})
	open := bytes.Repeat([]byte("1,\"x,y\n2,3,4\n"), 100_000)
	b.Run("every other line an open quote", func(b *testing.B) {
		for b.Loop() {
			s := tabular.NewCSV("f.csv", io.MultiReader(strings.NewReader("a,b,c\n"), bytes.NewReader(open)))
			for {
				if _, err := s.Next(); err == io.EOF {
					break
				} else if err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}
