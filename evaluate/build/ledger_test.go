package build_test

import (
	"strings"
	"testing"

	"wreckoner/damage"
	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

const ledgerHead = "build,date,zone,class,grade,what,spend,hours,state,note\n"

func ledger(t testing.TB, rows string) *build.Ledger {
	t.Helper()
	l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(ledgerHead+rows)))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func spot(t testing.TB, text string) damage.Spot {
	t.Helper()
	c, err := damage.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c.Marks()[0].Spot
}

// Every fault of a row has its line, its column and its remedy, and spoils no
// other row: the good one beside it is booked.
func TestLedgerFaults(t *testing.T) {
	for _, tt := range []struct{ why, row, want string }{
		{"no build", ",2026-01-05,nose,s,2,panel,100,,,",
			`ledger.csv:2: build: is blank; write the name the build was given at freeze`},
		{"a date the other way round", "a,05/01/2026,nose,s,2,panel,100,,,",
			`ledger.csv:2: date: "05/01/2026" could be 5 January 2026 or 1 May 2026; write it as 2026-01-05 or 2026-05-01`},
		{"a day that is not there", "a,2026-02-30,nose,s,2,panel,100,,,",
			`ledger.csv:2: date: "2026-02-30" is not a date that exists; write 2026-03-17`},
		{"no such zone", "a,,side,s,2,panel,100,,,", `ledger.csv:2: zone: `},
		{"no such class", "a,,nose,x,2,panel,100,,,", `ledger.csv:2: class: `},
		{"no such grade", "a,,nose,s,5,panel,100,,,",
			`ledger.csv:2: grade: 5 is not between 1 and 4; write a number in that range`},
		{"half a grade", "a,,nose,s,1.5,panel,100,,,", `ledger.csv:2: grade: "1.5" is not a whole number`},
		{"a class without a zone", "a,,,s,2,panel,100,,,",
			`ledger.csv:2: zone: is blank beside a class or a grade; write the zone, or leave all three blank for overhead`},
		{"a zone without a class", "a,,nose,,,panel,100,,,", `ledger.csv:2: class: is blank beside a zone or a grade`},
		{"a grade on its own", "a,,,,2,panel,100,,,", `ledger.csv:2: zone: is blank beside a class or a grade`},
		{"overhead without a word", "a,,,,,,100,,,",
			`ledger.csv:2: what: is blank; where no zone is named, write what the money was for`},
		{"overhead without an amount", "a,,,,,bench hire,,,,",
			`ledger.csv:2: spend: is blank, and so are the hours; write what it cost`},
		{"pence in thousands", "a,,nose,s,2,panel,\"1,25\",,,",
			`ledger.csv:2: spend: "1,25" could be 1.25 or 125; write it with a point before the pence`},
		{"hours in words", "a,,nose,s,2,panel,10,two,,", `ledger.csv:2: hours: "two" is not a number`},
		{"hours below none", "a,,nose,s,2,panel,10,-2,,",
			`ledger.csv:2: hours: "-2" is below 0; hours can't be negative: correct the row with too many`},
		{"a state of its own", "a,,nose,s,2,panel,10,2,perhaps,",
			`ledger.csv:2: state: "perhaps" is not one of the choices here; write open, done or clear`},
		{"a slip in a word that counts", "a,,,,,hamer price,1000,,,",
			`ledger.csv:2: what: "hamer price" is not counted: write hammer if that is what it was, or overhead: hamer price`},
		{"the hammer price in a zone", "a,,nose,s,,hammer,1000,,,",
			`ledger.csv:2: what: "hammer" is not in any zone; leave zone, class and grade blank`},
		{"a hammer price of nothing", "a,,,,,hammer,0,,,", `ledger.csv:2: spend: "0": write the price, above 0`},
		{"a sale without a price", "a,,,,,sale,,,,", `ledger.csv:2: spend: is blank; write the amount of the sale`},
		{"fees below nothing", "a,,,,,fees,-20,,,",
			`ledger.csv:2: spend: "-20": the amount of the fees is written without a minus sign; money back is a row of its own, as overhead`},
		{"hours for a sale", "a,,,,,selling,50,3,,",
			`ledger.csv:2: hours: "3": selling has no hours; write them in a row of their own, as overhead`},
		{"a date row without a date", "a,,,,,listed,,,,",
			`ledger.csv:2: date: is blank; listed is a date, such as 2026-04-30`},
		{"a price in a date row", "a,2026-05-01,,,,sold,9000,,,",
			`ledger.csv:2: spend: "9000": sold is a date and has no amount; the price received is a row of its own with what = sale; ` +
				`if this is that price, write sale here in place of sold`},
		{"a cell too few", "a,,nose,s,2,panel,10,2,", `ledger.csv:2: `},
		{"a stray quote", `a,,nose,s,2,19" wheel,10,2,,`, `ledger.csv:2: `},
	} {
		l := ledger(t, tt.row+"\nb,,tail,c,3,bumper,120,4,done,\n")
		if len(l.Problems) == 0 {
			t.Errorf("%s: passes", tt.why)
			continue
		}
		if got := l.Problems[0].Error(); !strings.HasPrefix(got, tt.want) {
			t.Errorf("%s:\n got %s\nwant %s", tt.why, got, tt.want)
		}
		b, ok := l.Build("b")
		if !ok || len(b.Entries) != 1 || b.Faults != 0 {
			t.Errorf("%s: the good row is lost", tt.why)
		}
		// The build whose row is lost knows of it; a row without a build could be
		// anybody's.
		if a, ok := l.Build("a"); l.Unplaced == 0 && (!ok || a.Faults != 1 || len(a.Entries) != 0) {
			t.Errorf("%s: the fault is not held against its build", tt.why)
		}
	}
	l := ledger(t, "a,,,,,sale,9000,,,\nA ,,,,,sale,9100,,,\n")
	if len(l.Problems) != 1 || !strings.Contains(l.Problems[0].Error(),
		`ledger.csv:3: what: sale of "A" is already on line 2; keep one`) {
		t.Errorf("a second sale: %v", l.Problems)
	}
	if _, err := (build.Reading{}).Ledger(tabular.NewCSV("ledger.csv", strings.NewReader("date,zone\n"))); err == nil ||
		!strings.Contains(err.Error(), "build") {
		t.Errorf("no build column: %v", err)
	}
}

// What is doubtful is read all the same, and said.
func TestLedgerNotices(t *testing.T) {
	for _, tt := range []struct{ why, rows, want string }{
		{"a row after done", "a,,nose,s,2,panel,100,,done,\na,,nose,s,,wax,10,,,\n",
			`ledger.csv:3: nose s of "a" was done on line 2; this row opens it again: write the state in its last row`},
		{"a row after clear", "a,,nose,s,,,,,clear,\na,,nose,s,2,panel,10,,,\n",
			`ledger.csv:3: nose s of "a" was clear on line 2; this row opens it again`},
		{"clear after a find", "a,,nose,s,2,panel,100,,,\na,,nose,s,1,,,,clear,\n",
			`ledger.csv:3: nose s of "a" is marked clear, and an earlier row found grade 2 there: which is right?`},
		{"a find after clear", "a,,nose,s,2,,,,clear,\na,,nose,s,3,panel,10,,,\n",
			`ledger.csv:3: nose s of "a" was marked clear, and this row found grade 3 there: which is right?`},
		{"a state without a zone", "a,,,,,bench hire,20,,done,\n", `ledger.csv:2: done is ignored in a row without a zone`},
		{"sold before bought", "a,2026-03-01,,,,hammer,1000,,,\na,2026-02-01,,,,sale,2000,,,\n",
			`ledger.csv:3: "a" was sold on 2026-02-01, before it was bought on 2026-03-01: its days are not counted`},
		{"sold and no price", "a,2026-02-01,,,,sold,,,,\n",
			`ledger.csv:2: "a" was sold, but there is no price: add a row with what = sale; until then the build counts as unfinished`},
	} {
		l := ledger(t, tt.rows)
		if len(l.Problems) > 0 {
			t.Errorf("%s: %v", tt.why, l.Problems)
		}
		if !strings.Contains(strings.Join(l.Notices, "\n"), tt.want) {
			t.Errorf("%s:\n got %s\nwant %s", tt.why, strings.Join(l.Notices, "\n"), tt.want)
		}
	}
}

// A ledger kept in a hurry, added up on paper: nose s 410.50 - 30 = 380.50 and 9.5
// hours, done; bay m clear from grade 2; overhead 54.85 + 12 - 8.50 = 58.35.
func TestLedgerSums(t *testing.T) {
	l := ledger(t, `Red Vantry,2026-01-05,,,,Hammer,"£2,850",,,
red vantry,2026-01-05,,,,fees,"412.20",,,
red vantry,2026-01-08,,,,fees,10,,,
red  vantry,2026-01-12,Nose,S,2,leg,410.50,6,,
red vantry,2026-01-20,nose,structural,,sent back,-30,,,
red vantry,2026-01-22,nose,s,3,weld,,3.5,done,worse than it looked
red vantry,,bay,m,2,looked,,0.5,clear,
red vantry,,,,,roadworthiness test,54.85,,,
red vantry,,,,,wrong clip,12,1,,
red vantry,,,,,wrong clip back,-8.5,,,
red vantry,2026-04-01,,,,listed,,,,
red vantry,2026-05-05,,,,sale,"9,000.00",,,
other,,tail,c,,found,,,,
`)
	if len(l.Problems) > 0 || len(l.Notices) > 0 {
		t.Fatal(l.Problems, l.Notices)
	}
	b, ok := l.Build("RED VANTRY")
	if !ok || len(l.Builds) != 2 || b.Name != "Red Vantry" {
		t.Fatalf("%d builds", len(l.Builds))
	}
	nose, bay := b.Job(spot(t, "nose s1")), b.Job(spot(t, "bay m1"))
	switch {
	case b.Hammer.Pence != 285000 || b.Fees.Pence != 42220 || b.Transport.Given || b.Sale.Pence != 900000 || !b.Finished():
		t.Errorf("%+v", b)
	case nose.Spend != 38050 || nose.Hours != 9.5 || nose.Grade != 3 || nose.State != build.JobDone || !nose.Found() ||
		!nose.Paid:
		t.Errorf("%+v", nose)
	case bay.State != build.JobOpen || bay.ClearFrom != 2 || bay.Found() || bay.Paid || bay.Hours != 0.5:
		t.Errorf("%+v", bay)
	case b.Overhead != 5835 || b.OverheadHours != 1:
		t.Errorf("overhead %s, %v hours", b.Overhead, b.OverheadHours)
	case b.Bought.Format("2006-01-02") != "2026-01-05" || b.Sold.Format("2006-01-02") != "2026-05-05" ||
		b.Listed.Format("2006-01-02") != "2026-04-01":
		t.Errorf("%s to %s", b.Bought, b.Sold)
	}
	if pence, hours := b.Spent(); pence != 38050+5835 || hours != 11 {
		t.Errorf("spent %s and %v hours", pence, hours)
	}
	if o, _ := l.Build("other"); o.Finished() || !o.Jobs[0].Found() || o.Jobs[0].Paid {
		t.Errorf("%+v", o.Jobs[0])
	}
	if got := l.Missing("red vantrey").Error(); got != `ledger.csv: has no build "red vantrey"; did you mean "Red Vantry"?` {
		t.Error(got)
	}
}

// Whatever stands in a ledger, it is read without a panic, and every row is booked
// or named as a problem.
func FuzzLedgerRows(f *testing.F) {
	f.Add("a,2026-01-05,nose,s,2,leg,100,2,done,\n")
	f.Add("a,,,,,sale,9000,,,\n,,,,,,,,,\n")
	f.Add("a,,bay,m,,,,,clear,\"x\ny\"\r\n")
	f.Add("\x00;\xff,,\"\n")
	f.Fuzz(func(t *testing.T, rows string) {
		l, err := build.Reading{}.Ledger(tabular.NewCSV("ledger.csv", strings.NewReader(ledgerHead+rows)))
		if err != nil {
			return
		}
		faults := l.Unplaced
		for _, b := range l.Builds {
			faults += b.Faults
			jobs := 0
			for _, j := range b.Jobs {
				jobs += len(j.Entries)
			}
			if jobs > len(b.Entries) || len(b.Entries)+b.Faults == 0 {
				t.Errorf("%q: %d entries, %d in jobs", b.Name, len(b.Entries), jobs)
			}
		}
		if faults > len(l.Problems) || faults == 0 && len(l.Problems) > 0 {
			t.Errorf("%d rows with faults, %d problems", faults, len(l.Problems))
		}
	})
}
