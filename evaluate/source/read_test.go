package source

import (
	"os"
	"slices"
	"strings"
	"testing"

	"wreckoner/evaluate/stats"
	"wreckoner/evaluate/tabular"
)

const sourcingHeader = "job,option,low,mid,high,hours,lead_days,works,lost_if_not,note,after\n"

func readSourcing(t *testing.T, text string) *Sourcing {
	t.Helper()
	list, err := ReadSourcing(tabular.NewCSV("ways.csv", strings.NewReader(text)), nil)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestReadSourcing(t *testing.T) {
	list := readSourcing(t, "Job;Option;Low;Mid;High;Hours;Lead days;Works;Lost if not;Note;After\n"+
		"Door near;used;\"1,100\";1200;1400;3;4;0.8;150;grey;\n"+
		"paint;shop;600;600;600;0;5;1;;;door NEAR\n"+
		"door  near;new;1900;2000;2200;2.5;9;1;;;\n"+
		"end;own;0;0;0;8;0;1;;;\"paint, door near\"\n")
	if len(list.Problems) > 0 || list.Unordered || len(list.Notices) > 0 {
		t.Fatalf("%v %v", list.Problems, list.Notices)
	}
	if len(list.Jobs) != 3 || list.Jobs[0].Name != "Door near" || len(list.Jobs[0].Options) != 2 {
		t.Fatalf("%+v", list.Jobs)
	}
	want := Option{Name: "used", Spend: stats.Amount{Low: 1100, Mid: 1200, High: 1400}, Hours: 3, LeadDays: 4, Works: 0.8,
		Refund: true, Lost: 150, Note: "grey"}
	if got := list.Jobs[0].Options[0]; got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if list.Jobs[0].Options[1].Refund {
		t.Error("blank lost_if_not is a refund")
	}
	if !slices.Equal(list.Jobs[1].After, []int{0}) || !slices.Equal(list.Jobs[2].After, []int{1, 0}) {
		t.Errorf("after %v, %v", list.Jobs[1].After, list.Jobs[2].After)
	}
}

func TestSourcingFaults(t *testing.T) {
	const good = "a,one,1,2,3,1,1,1,,,\n"
	for _, x := range []struct {
		name, rows, want string
		unordered        bool
	}{
		{"percent", "a,two,1,2,3,1,1,70,,,\n", `ways.csv:3: works: 70 is not a share between 0 and 1; did you mean 0.7?`,
			false},
		{"no chance", "a,two,1,2,3,1,1,0,,,\n", `ways.csv:3: works: a chance of 0 means it cannot work; remove the row`,
			false},
		{"blank hours", "a,two,1,2,3,,1,1,,,\n", `ways.csv:3: hours: is blank; write a number`, false},
		{"order", "a,two,3,2,1,1,1,1,,,\n", `ways.csv:3: mid: low 3 is above mid 2; write the three in rising order`, false},
		{"no name", "a,,1,2,3,1,1,1,,,\n", `ways.csv:3: option: is blank; write the name of the way to do it`, false},
		{"no job", ",two,1,2,3,1,1,1,,,\n", `ways.csv:3: job: is blank; write the name of what has to be done`, false},
		{"twice", "A, One,1,2,3,1,1,1,,,\n",
			`ways.csv:3: option: A already has "One" on line 2; keep one, or give them different names`, false},
		{"lost more", "a,two,1,2,3,1,1,0.5,30,,\n",
			`ways.csv:3: lost_if_not: 30 is more than the spend, at most some 3; leave it blank if all is lost, and put other costs into low, mid and high`, false},
		{"unknown", "bee,two,1,2,3,1,1,1,,,x\n", `ways.csv:3: after: "x" is not a job in this file; write one of a, bee`,
			true},
		{"near", "panel,two,1,2,3,1,1,1,,,\nc,two,1,2,3,1,1,1,,,a panle\n",
			`ways.csv:4: after: "panle" is not a job in this file; did you mean panel?`, true},
		{"itself", "b,two,1,2,3,1,1,1,,,a b\n",
			`ways.csv:3: after: "b" waits for itself; name the jobs that must be done before it`, true},
		{"unread", "b,two,1,2,x,1,1,1,,,\nc,two,1,2,3,1,1,1,,,b\n",
			"ways.csv:3: high: \"x\" is not a number; write 1250 or 1,250.5\n" +
				`ways.csv:4: after: no row of "b" could be read; fix its rows first`, true},
		{"ring", "b,two,1,2,3,1,1,1,,,c\nc,two,1,2,3,1,1,1,,,a;b\n",
			`ways.csv:3: after: b after c after b: they wait for each other in a circle; remove one of them from after`, true},
		{"many", "a,2,1,2,3,1,1,.5,,,\na,3,1,2,3,1,1,.5,,,\na,4,1,2,3,1,1,.5,,,\na,5,1,2,3,1,1,.5,,,\na,6,1,2,3,1,1,.5,,,\na,7,1,2,3,1,1,.5,,,\na,8,1,2,3,1,1,.5,,,\n",
			`ways.csv:9: option: a has more than 6 options that may not work; keep those you would try`, false},
	} {
		list := readSourcing(t, sourcingHeader+good+x.rows)
		if got := tabular.Problems(list.Problems).Error(); got != x.want {
			t.Errorf("%s:\n got %s\nwant %s", x.name, got, x.want)
		}
		if list.Unordered != x.unordered {
			t.Errorf("%s: unordered %v", x.name, list.Unordered)
		}
		if len(list.Jobs) == 0 || len(list.Jobs[0].Options) == 0 {
			t.Errorf("%s: the good row is gone", x.name)
		}
	}
	if _, err := ReadSourcing(tabular.NewCSV("ways.csv", strings.NewReader("job,option\na,b\n")), nil); err == nil {
		t.Error("no error where columns are missing")
	}
	list := readSourcing(t, sourcingHeader+"a,one,1,2,9,1,1,1,0,,\n")
	if got := strings.Join(list.Notices, "\n"); !strings.Contains(got, "lost_if_not is ignored where works is 1") ||
		!strings.Contains(got, "7.0 times the other") {
		t.Errorf("notices %q", got)
	}
}

func TestSourcingSample(t *testing.T) {
	f, err := os.Open("../../samples/sourcing.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := ReadSourcing(tabular.NewCSV("sourcing.csv", f), nil)
	if err != nil || len(list.Problems)+len(list.Notices) > 0 || len(list.Jobs) != 8 {
		t.Fatalf("%v %v %v, %d jobs", err, list.Problems, list.Notices, len(list.Jobs))
	}
}
