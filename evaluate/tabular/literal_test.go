package tabular_test

import (
	"io"
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
)

// Quotes that are marks for inches, dittos or words are read as they stand where the row then has a cell for each
// header, and no other row is drawn into it. RFC 4180 (2005) has no such quotes, and nothing that it allows is read
// otherwise: a cell in quotes keeps its delimiters and line breaks.
func TestQuotesAsMarks(t *testing.T) {
	for _, tt := range []struct{ name, text, want string }{
		{"inches", "lot;words\n1;6\" dent\n2;8\" dent\n", "lot|words/1|6\" dent/2|8\" dent"},
		{"dittos", "lot\tyear\tbody\n1\t2019\thatch\n2\t\"\t\"\n3\t\"\test\n", "lot|year|body/1|2019|hatch/2|\"|\"/3|\"|est"},
		{"words", "lot,words,value\n1,said \"no damage\",9400\n", "lot|words|value/1|said \"no damage\"|9400"},
		{"beside quoted", "lot,words,note\n1,6\" dent,\"rust, little\"\n", "lot|words|note/1|6\" dent|rust, little"},
		{"quoted", "lot,words,note\n1,\"a \"\"b\"\", c\",d\n", "lot|words|note/1|a \"b\", c|d"},
		{"a line break", "lot,words,note\n1,\"a\nb\",c\n", "lot|words|note/1|a\nb|c"},
		{"an open quote", "lot,words,note\n1,\"a,c\n2,d,e\n", "lot|words|note/!/2|d|e"},
		{"text behind", "lot,words,note\n1,\"a\" b,c\n", "lot|words|note/!"},
	} {
		source := tabular.NewCSV("a.csv", strings.NewReader(tt.text))
		source.Loosen()
		var rows []string
		for {
			r, err := source.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			if len(rows) == 0 {
				source.Width(len(r.Cells))
			}
			row := strings.Join(slices.Clone(r.Cells), "|")
			if r.Fault != "" {
				row = "!"
			}
			rows = append(rows, row)
		}
		if got := strings.Join(rows, "/"); got != tt.want {
			t.Errorf("%s: %q, want %q", tt.name, got, tt.want)
		}
	}
}
