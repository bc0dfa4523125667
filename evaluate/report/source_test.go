package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/source"
	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

// sourced is the job that evaluate/source works out on paper, where expected is
// 1,260, P90 1,950 and 9 days, with one that waits for it if asked.
func sourced(t *testing.T, together bool) *Sourcing {
	t.Helper()
	jobs := []source.Job{{Name: "airbag set", Options: []source.Option{
		{Name: "=new", Spend: stats.Fixed(1000), Hours: 5, LeadDays: 9.5, Works: 1},
		{Name: "used", Spend: stats.Fixed(400), Hours: 10, LeadDays: 4, Works: 0.6, Refund: true, Lost: 200,
			Note: "ask first"},
	}}, {Name: "trim", Options: []source.Option{{Name: "glue", Spend: stats.Fixed(10), Hours: 10, Works: 0.5}}}}
	if together {
		jobs[1].After = []int{0}
	}
	result, err := source.Compare(jobs, source.Rates{Labour: 30, HoursPerDay: 10, Holding: 20}, 4)
	if err != nil {
		t.Fatal(err)
	}
	return &Sourcing{Result: result, Currency: "GBP", Rejected: []tabular.Problem{{File: "f", Line: 3, Message: "m"}}}
}

func terminal(t *testing.T, s *Sourcing) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Document(Width80).Terminal(&b, Style{}); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(b.String()) {
		if n := narrow.StringWidth(strings.TrimRight(line, "\n")); n > Width80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func TestSourcingWords(t *testing.T) {
	alone := terminal(t, sourced(t, false))
	for _, want := range []string{
		"Try used; if it does not fit or work, =new: £1,260 on average (1 time in 10 more than £1,950), 9 days.",
		"The only way listed is glue: £330 on average (1 time in 10 more than £330), 1 day.",
		"Nothing listed is certain: the chance that none works is 50%, and £330 is then spent for nothing.",
		"used 60% from 52%",
		"=new certain never",
		"Note on used: ask first.",
		"1 row could not be read and is left out",
		"as if it alone held up the car",
		"Caution, airbag set: " + damage.Restraint.Caution() + " " + onlyMoney,
	} {
		if !strings.Contains(alone, want) {
			t.Errorf("%q is not in\n%s", want, alone)
		}
	}
	if !strings.HasSuffix(alone, Caution) {
		t.Error("the closing line is not the last")
	}
	if strings.Contains(alone, damage.Structural.Caution()) {
		t.Error("a caution that nothing calls for")
	}
	together := terminal(t, sourced(t, true))
	for _, want := range []string{ // 9 + 1 days: 1,080 + 310 + 20 x 10
		"On average it costs £1,590 (1 time in 10 more than £2,280) and takes 10 days (1 time in 10 more than 16).",
		"Most likely to hold it up: airbag set (100%), trim (100%).",
		"The chance that no listed way works for some job is 50%",
		"9 days, of which 9 hold up the car",
	} {
		if !strings.Contains(together, want) {
			t.Errorf("%q is not in\n%s", want, together)
		}
	}
}

func TestSourcingCautions(t *testing.T) {
	for text, want := range map[string]string{
		"weld the sill": "structural", "B-pillar": "structural", "seat belts": "restraint", "clockspring": "restraint",
		"HV cable": "electrical", "traction_battery": "electrical",
		"silly trailer bed": "", "belted radiator": "",
	} {
		s := &Sourcing{Result: &source.Result{Jobs: []source.Comparison{{Job: &source.Job{Name: text}}}}}
		got := ""
		for _, c := range s.cautions() {
			got += c.class.String()
		}
		if got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

func TestSourcingFiles(t *testing.T) {
	s := sourced(t, true)
	var b bytes.Buffer
	if err := s.JSON(&b); err != nil {
		t.Fatal(err)
	}
	var v struct {
		Car struct {
			Cost struct{ Mean float64 }
		}
		Rejected []tabular.Problem
		Jobs     []struct {
			Job   string
			Plans []struct {
				Plan []string
				Cost struct{ Mean, P10, P90 float64 }
				Days struct{ Mean, P90 float64 }
			}
			Flips []struct {
				From float64 `json:"worth_trying_from"`
			} `json:"worth_trying"`
			Timing struct {
				Day float64 `json:"day_more_costs"`
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &v); err != nil {
		t.Fatal(err)
	}
	j := v.Jobs[0]
	if p := j.Plans[0]; v.Car.Cost.Mean != 1590 || p.Cost.Mean != 1260 || p.Cost.P10 != 800 || p.Cost.P90 != 1950 ||
		p.Days.Mean != 9 || p.Days.P90 != 15 || p.Plan[1] != "=new" {
		t.Errorf("%+v", v)
	}
	if j.Flips[0].From != 0.521739 || j.Timing.Day != 20 || len(v.Rejected) != 1 {
		t.Errorf("%+v", v)
	}
	b.Reset()
	if err := s.Records().CSV(&b, true); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(rows) != 4 || rows[1][0] != "airbag set" || rows[1][3] != "1260" || rows[2][2] != "'=new" {
		t.Errorf("%v %q", err, rows)
	}
	b.Reset()
	if err := s.Document(Width80).Markdown(&b); err != nil || !strings.Contains(b.String(), "## airbag set (£)") {
		t.Errorf("%v %s", err, b.String())
	}
}
