package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The pages at the car have, for a pattern of answers, what the command says of it: the page of
// one lot, and that of the whole sale.
func TestThePagesAtTheCarSayWhatTheCommandSays(t *testing.T) {
	if testing.Short() {
		t.Skip("two pages and a probe of one lot; short runs hold the numbers of a page against its JSON")
	}
	dir := t.TempDir()
	probed, sale := filepath.Join(dir, "probe.html"), filepath.Join(dir, "sale.html")
	list, one := "../../samples/sale.csv", filepath.Join(dir, "one.csv")
	text, err := os.ReadFile(list)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.SplitAfter(string(text), "\n")
	at := slices.IndexFunc(lines, func(line string) bool { return strings.HasPrefix(line, "20,") })
	if err := os.WriteFile(one, []byte(lines[0]+lines[at]), 0o600); err != nil {
		t.Fatal(err)
	}
	runs := func(args ...string) []byte {
		t.Helper()
		var out, problems bytes.Buffer
		if code := run(context.Background(), args, strings.NewReader(""), &out, &problems); code != 0 {
			t.Fatalf("%q: exit %d\n%s", args, code, problems.String())
		}
		return out.Bytes()
	}
	pages := []string{sale}
	runs("screen", one, "-q", "--html", sale)
	if !testing.Short() { // the form is the same on both pages, and to probe is slow
		runs("probe", list, "20", "-q", "--html", probed)
		pages = append(pages, probed)
	}
	items := []string{"under e4", "cabin r3", "whole m2"}
	answers := []int{1, 2, 1} // found, not there, found
	args := []string{"probe", list, "20", "-q", "--format", "json"}
	var found, not []string
	for i, a := range answers {
		switch a {
		case 1:
			found = append(found, items[i])
		case 2:
			not = append(not, items[i])
		}
	}
	var said struct {
		Inspected struct {
			HighestBid float64 `json:"highest_bid"`
		}
	}
	args = append(args, "--found", strings.Join(found, "; "), "--not-there", strings.Join(not, "; "))
	if err := json.Unmarshal(runs(args...), &said); err != nil {
		t.Fatal(err)
	}
	for _, file := range pages {
		if got := stopOnPage(t, file, items, answers); got != said.Inspected.HighestBid {
			t.Errorf("%s, %q: %v, the command says %v", filepath.Base(file), args[6:], got, said.Inspected.HighestBid)
		}
	}
}

// stopOnPage is the price that the form of lot 20 has for answers about items, in pounds.
func stopOnPage(t *testing.T, file string, items []string, answers []int) float64 {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	form := regexp.MustCompile(`(?s)<form class="inspect"[^>]*data-stops="([^"]*)"[^>]*data-step="([^"]*)"[^>]*data-lot="20">.*?</form>`).FindSubmatch(text)
	if form == nil {
		t.Fatalf("%s has no form for lot 20", file)
	}
	legends := regexp.MustCompile(`data-item="([^"]*)"`).FindAllSubmatch(form[0], -1)
	pattern := 0
	for i, item := range items {
		unit, at := 1, -1
		for k, legend := range legends {
			if string(legend[1]) == item {
				at = k
				break
			}
			unit *= 3
		}
		if at < 0 {
			t.Fatalf("%s: the form does not ask about %s", file, item)
		}
		pattern += answers[i] * unit
	}
	steps, err := strconv.ParseFloat(strings.Split(string(form[1]), ",")[pattern], 64)
	if err != nil {
		t.Fatal(fmt.Errorf("%s: pattern %d: %w", file, pattern, err))
	}
	step, err := strconv.ParseFloat(string(form[2]), 64)
	if err != nil {
		t.Fatal(err)
	}
	return steps * step
}
