package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"wreckoner/evaluate"
	"wreckoner/evaluate/bid"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/prices"
	"wreckoner/evaluate/report"
	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// mixedLots writes a list with lots of every status, ties of all but the number,
// numbers that stand twice, rows that cannot be read, and text to be escaped.
func mixedLots(t *testing.T, path string, n int) {
	t.Helper()
	var b strings.Builder
	b.WriteString("lot,make,category,damage,value,guide,site,note\n")
	for i := range n {
		number := fmt.Sprintf("L%d", i*7919%n)
		damage, category, guide, value, note := "nose s1 c3 m1?60", "N", "2000", fmt.Sprint(6000+500*(i%9)), ""
		switch i % 11 {
		case 1:
			guide = ""
		case 2:
			damage = ""
		case 3:
			category = "B"
		case 4:
			note = "\"=1+1, \"\"rank\"\":null\""
		case 5:
			damage = "tail s2 c3"
		case 6:
			number = fmt.Sprintf("l%d", (i-1)*7919%n) // that of the row before, in small letters
		}
		if i%23 == 0 {
			value = "12OO"
		}
		if i%29 == 0 {
			damage = "nose s9"
		}
		fmt.Fprintf(&b, "%s,\"a,b <&>\",%s,%s,%s,%s,Tolloway,%s\n", number, category, damage, value, guide, note)
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// reference ranks a list that is held in memory as a whole.
func reference(t *testing.T, path string, by bid.Order) *report.Screen {
	t.Helper()
	workshop, problems, _, err := shop.Read("")
	if err != nil || len(problems) > 0 {
		t.Fatal(err, problems)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	list, err := lots.ReadList(tabular.NewCSV(path, f), workshop, lots.Reading{})
	if err != nil {
		t.Fatal(err)
	}
	e, err := evaluate.New(workshop, evaluate.Options{Points: 64, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	m, err := prices.Fit(nil, nil, nil, workshop.PriceSettings(time.Time{})) // the top-bidder allowance, by the starter
	if err != nil {
		t.Fatal(err)
	}
	e.Appraise(m)
	all, errs, err := e.All(context.Background(), list.Lots, nil)
	if err != nil {
		t.Fatal(err)
	}
	s := &report.Screen{Shop: workshop, Seed: 1, Points: 64, Evidence: true, Notices: list.Notices}
	for i, r := range all {
		if errs[i] != nil {
			list.Reject(list.Lots[i], errs[i])
		} else {
			s.Results = append(s.Results, r)
		}
	}
	evaluate.Rank(s.Results, by)
	s.Rejected = list.Problems
	return s
}

// with sets a bound for one test.
func with[T any](t *testing.T, bound *T, value T) {
	old := *bound
	*bound = value
	t.Cleanup(func() { *bound = old })
}

// screened runs screen, which has rows to reject, and returns what it printed.
func screened(t *testing.T, args ...string) (out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	if code := run(context.Background(), append([]string{"screen", "--points", "64"}, args...), strings.NewReader(""), &o,
		&e); code != exitRejected {
		t.Fatalf("%v: exit %d: %s", args, code, e.String())
	}
	return o.String(), e.String()
}

// Rows that went through a file are those of a list that is held in memory, byte
// for byte, whatever they are ranked by, and so are the messages.
func TestSpooled(t *testing.T) {
	tmp := t.TempDir()
	t.Setenv("TMPDIR", tmp)
	path := filepath.Join(t.TempDir(), "lots.csv")
	n, buffers := 400, []int{100, 10_000, 4 << 20}
	orders := []bid.Order{bid.ByMargin, bid.ByReturn, bid.ByLoss, bid.ByBayDay}
	if testing.Short() { // one order, of a list that goes through the file many times and not at all
		n, buffers, orders = 120, []int{100, 4 << 20}, orders[:1]
	}
	mixedLots(t, path, n)
	for _, by := range orders {
		s := reference(t, path, by)
		var asCSV, asJSON, said bytes.Buffer
		if err := s.Records().CSV(&asCSV, true); err != nil {
			t.Fatal(err)
		}
		if err := s.JSON(&asJSON); err != nil {
			t.Fatal(err)
		}
		for _, n := range s.Notices {
			fmt.Fprintln(&said, n)
		}
		for _, p := range s.Rejected {
			fmt.Fprintln(&said, p.Error())
		}
		for _, buffer := range buffers {
			with(t, &spoolBuffer, buffer)
			out, errs := screened(t, "--rank-by", string(by), "--format", "csv", path)
			if out != asCSV.String() {
				t.Errorf("by %s, buffer %d: another CSV", by, buffer)
			}
			if errs != said.String() {
				t.Errorf("by %s, buffer %d: other messages: %s", by, buffer, errs)
			}
			if out, _ = screened(t, "--rank-by", string(by), "--format", "json", "--workers", "3",
				path); out != asJSON.String() {
				t.Errorf("by %s, buffer %d: another JSON", by, buffer)
			}
		}
	}
	if left := names(t, tmp); left != "" {
		t.Errorf("left among temporary files: %s", left)
	}
}

// A list too long to be held shows a person the best of each status, the same as
// at the top of a list that is held, and says how many there are.
func TestOutgrown(t *testing.T) {
	if testing.Short() {
		t.Skip("screens 1,500 lots four times; TestSpooled has the same rows")
	}
	path := filepath.Join(t.TempDir(), "lots.csv")
	mixedLots(t, path, 1500)
	heldOut, heldErrs := screened(t, "--top", "5", "--format", "markdown", path)
	wholeOut, _ := screened(t, "--format", "markdown", path)
	with(t, &mostHeld, 300)
	out, errs := screened(t, "--top", "5", "--format", "markdown", path)
	if errs != heldErrs {
		t.Errorf("other messages: %s", errs)
	}
	ranked := func(text string) []string {
		lines := strings.Split(text, "\n")
		from := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, "## Ranked") })
		return lines[from : from+11] // with the table's head, and what stands beneath it
	}
	want := ranked(heldOut)
	for i, line := range want {
		// A note's letter goes by which lots are shown.
		cut := func(l string) string {
			return strings.Join(strings.Split(l, "|")[:min(2, strings.Count(l, "|")+1)], "|")
		}
		if got := ranked(out)[i]; cut(got) != cut(line) {
			t.Errorf("line %d: %q, want %q", i, got, line)
		}
	}
	s := reference(t, path, bid.ByMargin)
	if want := fmt.Sprintf("The list has %s. No more than 5 of each kind are shown", tabular.Count(len(s.Results),
		"lot")); !strings.Contains(out, want) {
		t.Errorf("no %q in %s", want, out)
	}
	all, _ := screened(t, "--format", "markdown", path)
	if !strings.Contains(all, "No more than 100 of each kind") || len(all) >= len(wholeOut) {
		t.Errorf("%d bytes of %d", len(all), len(wholeOut))
	}
	rejected := regexp.MustCompile(`[0-9,]+ rows could not be read`).FindString(wholeOut)
	if rejected == "" || !strings.Contains(out, rejected) {
		t.Errorf("%q is not in %s", rejected, out)
	}
}

// What cannot be had of a list too long to be held is said, with the way out.
func TestNotOfLongLists(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "lots.csv")
	manyLots(t, path, 40)
	with(t, &mostHeld, 30)
	for _, test := range []struct {
		args []string
		want string
	}{
		{[]string{"--html", filepath.Join(dir, "x.html")},
			"lots.csv:32: a page shows no more than 100,000 lots or 512 MiB; leave --html out, or split the list\n"},
		{[]string{"-o", filepath.Join(dir, "x.xlsx")},
			"lots.csv:32: a workbook is written of no more than 100,000 lots or 512 MiB; write CSV, as in -o ranked.csv, or " +
				"split the list\n"},
	} {
		var out, errs bytes.Buffer
		args := append([]string{"screen", "--points", "64", path}, test.args...)
		if code := run(context.Background(), args, strings.NewReader(""), &out, &errs); code != exitFailed ||
			!strings.HasSuffix(errs.String(), test.want) {
			t.Errorf("%v: exit %d: %s", test.args, code, errs.String())
		}
	}
	if left := names(t, dir); left != "lots.csv" {
		t.Errorf("left: %s", left)
	}
}

// A temporary file that cannot be made or written is an error that says so.
func TestNoRoomToSpool(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lots.csv")
	manyLots(t, path, 200)
	t.Setenv("TMPDIR", filepath.Join(t.TempDir(), "absent"))
	with(t, &spoolBuffer, 100)
	var out, errs bytes.Buffer
	code := run(context.Background(), []string{"screen", "--points", "64", "--format", "csv", path},
		strings.NewReader(""), &out, &errs)
	if code != exitFailed || out.Len() > 0 || !strings.Contains(errs.String(),
		"a temporary file cannot be written: no such file or directory; set TMPDIR to a folder") {
		t.Errorf("exit %d: %s", code, errs.String())
	}
}
