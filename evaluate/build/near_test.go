package build_test

import (
	"io"
	"regexp"
	"strings"
	"testing"

	"wreckoner/evaluate/build"
	"wreckoner/evaluate/tabular"
)

// oneRow reads a ledger of one row, with the shop's own names for two fixed items.
func oneRow(t *testing.T, header, row string) *build.Ledger {
	t.Helper()
	text := header + "\n" + row + "\n"
	open := func() tabular.Source { return tabular.NewCSV("l.csv", strings.NewReader(text)) }
	l, err := build.Reading{
		Fixed: []string{"roadworthiness test", "valet and photographs", "consumables", "comebacks"},
		Again: func() (tabular.Source, io.Closer, error) { return open(), io.NopCloser(nil), nil },
	}.Ledger(open())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

const (
	freeHeader  = "build,date,what,spend,hours,received"
	spentHeader = "Which car,When,What for,Paid out,Got back"
	zonedHeader = "build,date,zone,class,grade,what,spend,hours,state"
)

// Words that are close to the car's own price, its costs or its sale never become overhead, whatever stands beside
// them, whether the ledger has columns for zone and class or not (common practice, no source).
func TestOwnAmountsAreAskedAbout(t *testing.T) {
	for _, tt := range []struct{ means, words string }{
		{"hammer", "Won at auction (hammer)|hammer price plus VAT|winning bid|bought at the auction|" +
			"vehicle purchase|final payment|paid for car at auction"},
		{"fees", "buyers premium + admin incl vat|auction fees|Buyer’s Premium (inc. VAT)|admin fee|storage|" +
			"auction storage charges"},
		{"transport", "delivery|collection from sale|haulage to yard|transporter|lorry for it"},
		{"sale", "sold to Mr. Penn|customer paid|sale price received|deposit from buyer|cash from buyer|" +
			"Sold - cash|part exchange"},
		{"selling", "advert|adverts x2|advertising it|listing fee|commission"},
		{"roadworthiness test", "MOT test|MOT fee|retest|annual test|M.O.T. + retest"},
		{"valet and photographs", "valet|valet & photos|full valet|photographs"},
		{"comebacks", "comeback - bearing under warranty|warranty claim"},
		{"leave the build blank", "unit rent|rent January|wages"},
	} {
		for words := range strings.SplitSeq(tt.words, "|") {
			for header, row := range map[string]string{freeHeader: `a,2026-01-05,"` + words + `",900,,`,
				zonedHeader: `a,2026-01-05,,,,"` + words + `",900,,`} {
				l := oneRow(t, header, row)
				if b, _ := l.Build("a"); len(l.Problems) != 1 || b.Overhead != 0 || b.Faults != 1 {
					t.Errorf("%q: %v, overhead %s", words, l.Problems, b.Overhead)
				} else if m := l.Problems[0].Message; !strings.Contains(m, tt.means) {
					t.Errorf("%q: %s, want %s", words, m, tt.means)
				}
			}
		}
	}
}

var toType = regexp.MustCompile(`(?:write|such as|or) (overhead: [^;]*?|[a-z-]+ [scrme] [^;,]*?|hammer|fees|sale|` +
	`selling|transport)(?: if|, or|$)`)

// What a message tells a person to type instead is read.
func TestWhatAMessageTellsToTypeIsRead(t *testing.T) {
	typed := 0
	for _, words := range []string{"wing", "lamp n/s", "something from Bob", "buyers premium + admin", "sold to Mr. Penn",
		"lorry for the car", "won at auction", "advert", "MOT and valet", "bumper from Bob"} {
		l := oneRow(t, freeHeader, `a,2026-01-05,"`+words+`",900,,`)
		if len(l.Problems) != 1 {
			t.Errorf("%q: %v", words, l.Problems)
			continue
		}
		for _, m := range toType.FindAllStringSubmatch(l.Problems[0].Message, -1) {
			typed++
			if again := oneRow(t, freeHeader, `a,2026-01-05,"`+m[1]+`",900,,`); len(again.Problems) > 0 {
				t.Errorf("%q: %s; typed %q: %v", words, l.Problems[0].Message, m[1], again.Problems)
			}
		}
	}
	if typed < 14 {
		t.Errorf("%d were typed", typed)
	}
}

// Where zone and class stand in the words, in the zone's cell or with the grade beside the class, they are read as a
// code is.
func TestCodesInCells(t *testing.T) {
	for _, tt := range []struct{ header, row, want string }{
		{freeHeader, "a,,under m,165.40,,", "under m, by its words (under m), 165.40"},
		{freeHeader, "a,,under m carriage,12.50,,", "under m, by its words (carriage), 12.50"},
		{freeHeader, "a,,under m surcharge back,-40,,", "under m, by its words (surcharge back), -40.00"},
		{freeHeader, "a,,under m surcharge,,,40", "under m, by its words (surcharge), -40.00"},
		{freeHeader, "a,,tail c3,80,,", "tail c3, by its words (tail c3), 80.00"},
		{freeHeader, "a,,rear-near c2 quarter,80,,", "rear-near c2, by its words (quarter), 80.00"},
		{freeHeader, "a,,rear near c2 quarter,80,,", "rear-near c2, by its words (quarter), 80.00"},
		{freeHeader, "a,,bumper (tail c3),80,,", "tail c3, by its words (bumper), 80.00"},
		{freeHeader, "a,,osf c3 wing,80,,", "front-off c3, by its words (wing), 80.00"},
		{freeHeader, "a,,MOT,54.85,,", "overhead (roadworthiness test), 54.85"},
		{freeHeader, "a,,overhead,20,,", "overhead, 20.00"},
		{freeHeader, "a,,fees: storage,20,,", "fees, 20.00"},
		{freeHeader, "a,2026-02-01,sold,,,9000", "sale, 2026-02-01, 9,000.00"},
		{zonedHeader, "a,,tail,c3,,bumper,80,,", "tail c3 (bumper), 80.00"},
		{zonedHeader, "a,,tail,cosmetic 2,,bumper,80,,", "tail c2 (bumper), 80.00"},
		{zonedHeader, "a,,bay,mech 3,,gearbox,80,,", "bay m3 (gearbox), 80.00"},
		{zonedHeader, "a,,bay,M3,3,gearbox,80,,", "bay m3 (gearbox), 80.00"},
		{zonedHeader, "a,,tail c3,,,bumper,80,,", "tail c3 (bumper), 80.00"},
		{zonedHeader, "a,,tail,,,c3 bumper,80,,", "tail c3, by its words (bumper), 80.00"},
	} {
		l := oneRow(t, tt.header, tt.row)
		if went := l.Went(nil); len(went) != 1 || went[0] != "l.csv:2: a: "+tt.want {
			t.Errorf("%s: %q %v", tt.row, went, l.Problems)
		}
	}
	l := oneRow(t, "build,what,spend,note", "a,osf wing,80,done")
	if b, _ := l.Build("a"); len(b.Jobs) != 1 || b.Jobs[0].State != build.JobDone {
		t.Errorf("a note that says done: %v", l.Problems)
	}
	for _, tt := range []struct{ header, row, want string }{
		{freeHeader, "a,,rear-near c2 s1,80,,", `what: "rear-near c2 s1" names 2 jobs; write a row for each`},
		{freeHeader, "a,,tail c2 nose c3,80,,", `names 2 jobs`},
		{zonedHeader, "a,,tail,c3,2,bumper,80,,", `grade: 2 is not the grade 3 that stands beside the class`},
		{zonedHeader, "a,,tail c3,m,,bumper,80,,", `class: "m" is not what the zone's cell "tail c3" says`},
		{zonedHeader, "a,,tail,c5,,bumper,80,,", `class: "c5" is not a class; write s, c, r, m or e`},
		{zonedHeader, "a,,tail,,,nose c3,80,,", `zone: "tail" is the tail, and "nose c3" says the nose`},
		{freeHeader, "a,,sale,9000,,9000", `received: "9000": the sale has an amount in two columns; keep one`},
		{freeHeader, "a,,fees,,,20", `received: "20": fees is money out`},
		{freeHeader, "a,,tail c bumper,,,-20", `received: "-20": write what was received without a minus sign`},
	} {
		l := oneRow(t, tt.header, tt.row)
		if len(l.Problems) != 1 || !strings.Contains(l.Problems[0].Error(), tt.want) {
			t.Errorf("%s: %v, want %s", tt.row, l.Problems, tt.want)
		}
	}
}

// Costs that belong to no zone count without a question. Words that say nothing count where columns for zone and
// class are left blank, and are listed in one line; where there are no such columns they are asked about.
func TestOverheadIsSureOrSaid(t *testing.T) {
	for _, words := range []string{"consumables", "paint and lacquer", "fuel", "2 tins of primer", "bench hire",
		"welding wire & gas", "paint suit, discs, consumables", "overhead: tea from Bob", "parking"} {
		l := oneRow(t, freeHeader, `a,,"`+words+`",10,,`)
		if b, _ := l.Build("a"); len(l.Problems) > 0 || b.Overhead != 1000 {
			t.Errorf("%q: %v", words, l.Problems)
		}
	}
	l := oneRow(t, zonedHeader, "a,,,,,bits from Bob,12,,\na,,,,,Mr. Penn,150,,\na,,,,,fuel,5,,")
	said := strings.Join(l.Notices, "\n")
	want := `l.csv: count as overhead, as their zone is blank: line 3 "Mr. Penn" 150.00, line 2 "bits from Bob" ` +
		`12.00; is any of them work on the car, its price or its sale?`
	if len(l.Problems) > 0 || !strings.Contains(said, want) {
		t.Errorf("%v\n%s", l.Problems, said)
	}
	if l = oneRow(t, zonedHeader, "a,,,,,Mr. Penn,10150,,"); len(l.Problems) != 1 {
		t.Errorf("10,150 from nobody knows what: %v", l.Problems)
	}
	if l = oneRow(t, freeHeader, "a,,bits from Bob,12,,"); len(l.Problems) != 1 {
		t.Errorf("%v", l.Problems)
	}
}

// A refund has a column, or a minus sign; beside what was paid in the same row it is taken off that.
func TestMoneyReceived(t *testing.T) {
	l := oneRow(t, spentHeader, "a,2026-01-05,osf wing,100,30\na,2026-01-06,osf wing returned,,70")
	b, _ := l.Build("a")
	if len(l.Problems) > 0 || len(b.Jobs) != 1 || b.Jobs[0].Spend != 0 || !b.Jobs[0].Paid {
		t.Errorf("%v %+v", l.Problems, b)
	}
	l = oneRow(t, spentHeader, "a,2026-01-05,sold to the neighbour,,\"9,150\"")
	if b, _ = l.Build("a"); len(l.Problems) > 0 || b.Sale.Pence != 915000 || b.Sold.Day() != 5 {
		t.Errorf("%v %+v", l.Problems, b)
	}
}

// The strip's hours are own hours that belong to no zone.
func TestHoursOfTheStrip(t *testing.T) {
	l := oneRow(t, zonedHeader, "a,2026-01-05,,,,stripped,,6.5,\na,2026-01-06,,,,fuel,20,1,")
	if b, _ := l.Build("a"); len(l.Problems) > 0 || b.OverheadHours != 7.5 || b.Overhead != 2000 || b.Stripped.Day() != 5 {
		t.Errorf("%v %+v", l.Problems, b)
	}
}
