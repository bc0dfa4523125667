package evaluate_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate"
)

func TestParseQuotes(t *testing.T) {
	code, err := damage.Parse("nose s2 c3; cabin r2?40; roof c2; bay m1-")
	if err != nil {
		t.Fatal(err)
	}
	for text, want := range map[string]string{
		"": "",
		"nose c3=620; cabin r2=1,450; roof c2=180 1h": "nose c3=620; cabin r2=1450; roof c2=180 1h",
		" Nose C3 = £620.50 ; roof c2 = 1,180 0h ;":   "nose c3=620.5; roof c2=1180 0h",
		"roof c2=180 1.5 h":                           "roof c2=180 1.5h",
		"nose c3=0 0h":                                "nose c3=0 0h",
		"nose c3=620; nose c3=600":                    "! nose c3 is quoted twice; keep one",
		"nose c3":                                     `! "nose c3" has no amount; write zone, mark, = and the amount`,
		"nose c3=":                                    "! has no amount",
		"nose c3=-5":                                  `! "nose c3=-5" is below 0`,
		"nose c3=12OO":                                `! "12OO" is not an amount; write 1200`,
		"nose c3=620 -1h":                             `! "-1" is not a number of hours`,
		"nose c3=620 NaNh":                            "! is not a number of hours",
		"nose c3=1h":                                  `! "1h" is not an amount`,
		"nose c2=620": "! nose c2 is not coded as seen or suspected in the damage " +
			"column, which has nose s2, nose c3, roof c2, cabin r2; quote one of these",
		"bay m1=620":     "! bay m1 is not coded as seen or suspected",
		"nose c3 s2=620": "! does not name one item",
		"nose c3?40=620": "! does not name one item",
		"bonnet c3=620":  "! not a zone",
	} {
		quotes, err := evaluate.ParseQuotes(text, code)
		if fault, ok := strings.CutPrefix(want, "! "); ok {
			if err == nil || !strings.Contains(err.Error(), fault) {
				t.Errorf("%q: %v, want %q", text, err, fault)
			}
			continue
		}
		var got []string
		for _, q := range quotes {
			got = append(got, q.String())
		}
		if err != nil || strings.Join(got, "; ") != want {
			t.Errorf("%q is read as %q, %v; want %q", text, got, err, want)
		}
	}
	if _, err := evaluate.ParseQuotes("nose c3=620", damage.None()); err == nil {
		t.Error("an undamaged car is quoted for")
	}
}
