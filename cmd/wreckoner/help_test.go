package main

import (
	"bytes"
	"context"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/pflag"

	"wreckoner/evaluate/glossary"
)

// helped returns what a command line prints, and fails if it ends with another code.
func helped(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(context.Background(), args, strings.NewReader(""), &out, &errs); code != want {
		t.Fatalf("%v ends with %d, want %d: %s", args, code, want, errs.String())
	}
	return out.String() + errs.String()
}

// Help names the values of options, is free of a programmer's words, keeps to the glossary, and fits 80 columns.
func TestHelpIsPlain(t *testing.T) {
	noise := regexp.MustCompile(`\b(string|uint|int|float)\b|\(default|\[=|Flags:|Usage:|stringArray`)
	root := newRoot(&streams{ctx: context.Background()})
	listed := helped(t, exitDone, "help")
	if listed != helped(t, exitDone, "--help") {
		t.Error("help and --help differ")
	}
	at := -1
	for _, c := range root.Commands() {
		if c.Name() == "help" {
			continue
		}
		next := strings.Index(listed, "\n  "+c.Name()+" ")
		if next < at {
			t.Errorf("%s is not listed in the order of use", c.Name())
		}
		at = next
		text := helped(t, exitDone, "help", c.Name())
		if found := noise.FindString(text); found != "" {
			t.Errorf("help %s has %q", c.Name(), found)
		}
		c.Flags().VisitAll(func(f *pflag.Flag) {
			value, _ := pflag.UnquoteUsage(f)
			if f.Value.Type() != "bool" && value != strings.ToUpper(value) && f.Name != "map" {
				t.Errorf("%s --%s: name the value, such as PRICE, not %q", c.Name(), f.Name, value)
			}
		})
		for _, f := range wordFaults("", text) {
			t.Errorf("help %s: %s", c.Name(), f)
		}
		fits(t, "help "+c.Name(), text)
	}
	if at < 0 {
		t.Error("no command is listed")
	}
	fits(t, "help", listed)
}

// fits complains of lines that a terminal of 80 columns would break.
func fits(t *testing.T, what, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		if n := len([]rune(strings.TrimSuffix(line, "\n"))); n > 80 {
			t.Errorf("%s: %d columns: %s", what, n, line)
		}
	}
}

func TestHelpTopics(t *testing.T) {
	for _, x := range topics() {
		if got := helped(t, exitDone,
			append([]string{"help"}, strings.Fields(x.names[len(x.names)-1])...)...); got != x.text {
			t.Errorf("help %s prints %q", x.names[0], got)
		}
		fits(t, x.names[0], x.text)
	}
	words := helped(t, exitDone, "help", "words")
	for _, term := range glossary.Terms() {
		if !strings.Contains(words, "\n  "+term.Term+"\n") {
			t.Errorf("help words leaves out %q", term.Term)
		}
	}
	if got := helped(t, exitUsage, "help", "nothing"); !strings.Contains(got, `there is no help on "nothing"`) {
		t.Error(got)
	}
}

// What is typed wrong is said in our words.
func TestMistypedCommands(t *testing.T) {
	for _, x := range []struct{ typed, want string }{
		{"screen", "wreckoner: screen: name a lot list, as in: wreckoner screen LOTS...\n"},
		{"probe sale.csv", "wreckoner: probe: name the lot list and a lot, as in: wreckoner probe LOTS LOT...\n"},
		{"source a b", "wreckoner: source: name one file of options, as in: wreckoner source OPTIONS\n"},
		{"codes x", "wreckoner: codes: takes no file or lot, as in: wreckoner codes\n"},
		{"screen --topp 3 a", "wreckoner: screen: there is no option --topp; did you mean --top?\n"},
		{"screen -z", "wreckoner: screen: there is no option -z; wreckoner help screen lists its options\n"},
		{"screen --top x a", "wreckoner: screen: --top \"x\" is not a number; write one such as 20; wreckoner help " +
			"screen lists its options\n"},
		{"screen --top", "wreckoner: screen: --top needs a value: --top N; wreckoner help screen lists its options\n"},
		{"scren", "wreckoner: there is no command \"scren\"; did you mean screen?\n"},
	} {
		if got := helped(t, exitUsage, strings.Fields(x.typed)...); got != x.want {
			t.Errorf("%s:\n got %q\nwant %q", x.typed, got, x.want)
		}
	}
}
