package shop_test

import (
	"bytes"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wreckoner/damage/costs"
	"wreckoner/evaluate/shop"
)

// A book in the wild: a byte-order mark, semicolons, CRLF, a quoted line break, a
// blank line, odd spacing, a letter of Windows-1252, a column of the owner's own,
// and no line end after the last row.
const wildBook = "\xef\xbb\xbfZone;class;grade;spend low;spend mid;spend high;hours low;hours mid;hours high;lead " +
	"days;builds;basis;mine\r\n" +
	"*;s;1;110; 200 ;390;3;5;9;4;8;\"from memory;\r\ntwo lines\";x\r\n" +
	"\r\n" +
	"nose;s;2;300;500;950;10;16;27;6;8;caf\xe9 prices;y\r\n" +
	"tail;s;2;\"1,300\";1500;1950;10;16;27;6;8;as was;z"

func write(t testing.TB, dir string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestReviseKeepsEveryOtherByte(t *testing.T) {
	old, out := t.TempDir(), filepath.Join(t.TempDir(), "new")
	write(t, old, map[string]string{"costs.csv": wildBook, "notes.txt": "mine\n",
		"learned.csv": "build,digest\nfirst,abc\n"})
	before, problems, err := shop.ReadLearned(old)
	if err != nil || len(problems) > 0 || len(before) != 1 || !shop.Knows(before, "FIRST", "") ||
		!shop.Knows(before, "renamed", "abc") || shop.Knows(before, "other", "def") {
		t.Fatal(before, problems, err)
	}
	err = shop.Revise(old, out, shop.Revision{
		Costs: map[string]shop.Edit{"nose s2": {"spend_mid": "612.5", "basis": "caf\u00e9 prices; learned from 2 builds",
			"builds": "10"}},
		Learned: append(before, shop.Learned{Build: "second, red", Digest: "def", Sold: "2026-01-02"}),
	})
	if err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(filepath.Join(out, "costs.csv"))
	if err != nil {
		t.Fatal(err)
	}
	want := strings.Replace(wildBook, "nose;s;2;300;500;950;10;16;27;6;8;caf\xe9 prices;y",
		"nose;s;2;300;612.5;950;10;16;27;6;10;\"caf\xe9 prices; learned from 2 builds\";y", 1)
	if string(got) != want {
		t.Errorf("got\n%q\nwant\n%q", got, want)
	}
	hidden, err := fs.ReadFile(costs.Starter(), "hidden.csv")
	if err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(filepath.Join(out, "hidden.csv")); err != nil || !bytes.Equal(got, hidden) {
		t.Errorf("the starter's rules are not as they were: %v", err)
	}
	if got, err := os.ReadFile(filepath.Join(out, "notes.txt")); err != nil || string(got) != "mine\n" {
		t.Errorf("the owner's own file: %q, %v", got, err)
	}
	if after, _, err := shop.ReadLearned(out); err != nil || len(after) != 2 || after[1].Build != "second, red" ||
		after[1].Digest != "def" {
		t.Error(after, err)
	}
	// The old folder is as it was, and a folder that is there is not written to.
	if got, err := os.ReadFile(filepath.Join(old, "costs.csv")); err != nil || string(got) != wildBook {
		t.Errorf("the old book changed: %v", err)
	}
	if err := shop.Revise(old, out, shop.Revision{}); err == nil || !strings.Contains(err.Error(),
		"already exists; learning never changes a folder") {
		t.Errorf("over a folder: %v", err)
	}
}

// Whole or not at all: where one row cannot be edited, no folder appears.
func TestReviseWritesNothingHalf(t *testing.T) {
	old, parent := t.TempDir(), t.TempDir()
	out := filepath.Join(parent, "new")
	write(t, old, map[string]string{"costs.csv": wildBook})
	for _, tt := range []struct {
		why, want string
		r         shop.Revision
	}{
		{"no such row", "costs.csv: has no row roof s2",
			shop.Revision{Costs: map[string]shop.Edit{"nose s2": {"builds": "9"}, "roof s2": {"builds": "9"}}}},
		{"no such column", "costs.csv:5: there is no column shape to write to",
			shop.Revision{Costs: map[string]shop.Edit{"nose s2": {"shape": ""}}}},
		{"no such rule", "hidden.csv: has no row",
			shop.Revision{Hidden: map[string]shop.Edit{"roof s9 -> x": {"chance": "0.1"}}}},
	} {
		if err := shop.Revise(old, out, tt.r); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v", tt.why, err)
		}
		if left, err := os.ReadDir(parent); err != nil || len(left) != 0 {
			t.Errorf("%s: left %v, %v", tt.why, left, err)
		}
	}
	write(t, old, map[string]string{"costs.csv": "\xff\xfez\x00"})
	if err := shop.Revise(old, out, shop.Revision{Costs: map[string]shop.Edit{"nose s2": {}}}); err == nil ||
		!strings.Contains(err.Error(), "UTF-16") {
		t.Errorf("UTF-16: %v", err)
	}
	if err := os.Mkdir(filepath.Join(old, "folder"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := shop.Revise(old, out, shop.Revision{}); err == nil || !strings.Contains(err.Error(), "is not a plain file") {
		t.Errorf("a folder within: %v", err)
	}
}

// With every row of the starter edited to what it says, the files are the same.
func TestReviseOfNothing(t *testing.T) {
	out := filepath.Join(t.TempDir(), "new")
	workshop, _, _, err := shop.Read("")
	if err != nil {
		t.Fatal(err)
	}
	edits := map[string]shop.Edit{}
	for _, r := range workshop.Costs.Rules() {
		edits[r.Name()] = shop.Edit{"why": r.Why}
	}
	if err := shop.Revise("", out, shop.Revision{Hidden: edits}); err != nil {
		t.Fatal(err)
	}
	files, err := fs.ReadDir(costs.Starter(), ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		want, err := fs.ReadFile(costs.Starter(), f.Name())
		if err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(filepath.Join(out, f.Name())); err != nil || string(got) != string(want) {
			t.Errorf("%s is not as it was: %v", f.Name(), err)
		}
	}
}

// Settings are changed in their line, their comments stay, a new key comes after the last one ahead of the tables, and
// every other byte is as it was.
func TestReviseSettings(t *testing.T) {
	five := []float64{0.1, 0.07, 0.03, 0.08, 0.08}
	for _, tt := range []struct{ why, before, after, fault string }{
		{"in its line", "severity_link = 0.25      # how far; mine\nbid_step = 25\n",
			"severity_link = 0.31 # how far; mine; learned from 8 builds\nbid_step = 25\n", ""},
		{"learned again", "severity_link = 0.25 # how far; learned from 8 builds\n",
			"severity_link = 0.31 # how far; learned from 8 builds\n", ""},
		{"Windows line ends, no comment", "bid_step = 25\r\nseverity_link = 0.25\r\n",
			"bid_step = 25\r\nseverity_link = 0.31 # learned from 8 builds\r\n", ""},
		{"a new key ahead of the tables", "bid_step = 25\n\n[[fixed]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh = 1\n",
			"bid_step = 25\nseverity_link = 0.31 # learned from 8 builds\n\n[[fixed]]\nname = \"x\"\nlow = 1\nmid = 1\nhigh " +
				"= 1\n", ""},
		{"a last line without an end", "bid_step = 25", "bid_step = 25\nseverity_link = 0.31 # learned from 8 builds\n", ""},
		{"commented out", "# severity_link = 0.2\nbid_step = 25\n",
			"# severity_link = 0.2\nbid_step = 25\nseverity_link = 0.31 # learned from 8 builds\n", ""},
		{"a table of its own", "[severity_link]\ns = 1\n", "", "severity_link] is a table of its own"},
	} {
		old, out := t.TempDir(), filepath.Join(t.TempDir(), "new")
		write(t, old, map[string]string{"shop.toml": tt.before})
		err := shop.Revise(old, out,
			shop.Revision{Settings: []shop.SettingEdit{{Key: "severity_link", Values: []float64{0.31},
				Note: "learned from 8 builds"}}})
		if tt.fault != "" {
			if err == nil || !strings.Contains(err.Error(), tt.fault) {
				t.Errorf("%s: %v", tt.why, err)
			}
			if _, err := os.Lstat(out); err == nil {
				t.Errorf("%s: a folder was left", tt.why)
			}
			continue
		}
		if err != nil {
			t.Fatalf("%s: %v", tt.why, err)
		}
		if got, err := os.ReadFile(filepath.Join(out, "shop.toml")); err != nil || string(got) != tt.after {
			t.Errorf("%s: got\n%s\nwant\n%s", tt.why, got, tt.after)
		}
	}
	old, out := t.TempDir(), filepath.Join(t.TempDir(), "new")
	write(t, old, map[string]string{"shop.toml": "coding_up = { s = 0.2, c = 0.1 } # by class\n"})
	if err := shop.Revise(old, out,
		shop.Revision{Settings: []shop.SettingEdit{{"coding_up", five, "learned from 12 builds"}}}); err != nil {
		t.Fatal(err)
	}
	want := "coding_up = { s = 0.1, c = 0.07, r = 0.03, m = 0.08, e = 0.08 } # by class; learned from 12 builds\n"
	if got, err := os.ReadFile(filepath.Join(out, "shop.toml")); err != nil || string(got) != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if s, problems, _, err := shop.Read(out); err != nil || len(problems) > 0 || s.CodingUp != [5]float64(five) {
		t.Errorf("read again: %v, %v", err, problems)
	}
}
