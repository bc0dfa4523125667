package report_test

import (
	"bytes"
	"strings"
	"testing"

	"wreckoner/evaluate/report"
)

// Cells come out as they went in, but for those that a spreadsheet would run:
// OWASP, Application Security Verification Standard 1.2.10. Plain numbers are none
// of those, whatever their sign.
func TestCarriedCSV(t *testing.T) {
	var b bytes.Buffer
	w := report.CarriedCSV(&b, ';', true)
	for _, row := range [][]string{{" a ", "-5", "-5+1", "+44 20"}, {"=1+1", "@x", "\tx", "1,250"},
		{"x;y", "+1.5", "", "-"}} {
		if err := w.Row(row); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		line string
		kept bool
	}{{`1;a 19" wheel;-3`, true}, {`1;"=HYPERLINK(1);2`, false}, {`@x`, false}, {"", true}} {
		kept, err := w.Raw(c.line)
		if err != nil || kept != c.kept {
			t.Errorf("%q: kept %v, %v", c.line, kept, err)
		}
	}
	if err := w.Finish(); err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{`" a ";-5;'-5+1;'+44 20`, "'=1+1;'@x;'\tx;1,250", `"x;y";+1.5;;'-`, `1;a 19" wheel;-3`,
		"", ""}, "\n")
	if b.String() != want {
		t.Errorf("%q, want %q", b.String(), want)
	}
	if w.Guarded() != 6 {
		t.Errorf("%d cells guarded", w.Guarded())
	}
}

func TestSheetName(t *testing.T) {
	for name, want := range map[string]string{"a/b[c]:d": "a b c  d", "'x'": "x", "": "lots", "[]": "lots",
		strings.Repeat("é", 40): strings.Repeat("é", 31)} {
		if got := report.SheetName(name); got != want {
			t.Errorf("%q gives %q, want %q", name, got, want)
		}
	}
}
