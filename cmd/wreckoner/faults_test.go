package main

import (
	_ "embed"
	"fmt"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/gocarina/gocsv"

	"wreckoner/evaluate/glossary"
)

var (
	//go:embed testdata/words/phrases.csv
	phrasesCSV string
	//go:embed testdata/words/allowed.csv
	allowedCSV string
)

// phrase is a turn of phrase that is not used, and what is said instead.
type phrase struct {
	Say   string `csv:"say"`
	Never string `csv:"never"`
}

// allowance is a text in which an unused word is right, such as a name in JSON.
type allowance struct {
	Text string `csv:"text"`
	File string `csv:"file"` // the file, or the beginning of its path; blank: every text
	Why  string `csv:"why"`
}

// wordFault is a word that is not used, as it was found, and what to say instead.
type wordFault struct{ found, say string }

func (f wordFault) String() string { return fmt.Sprintf("%q: say %q", f.found, f.say) }

type bannedWords struct {
	words *regexp.Regexp
	first string // the first of the words in small letters, without which a text need not be searched
	say   string
}

// wording is what texts are held to.
type wording struct {
	rules   []bannedWords
	allowed []allowance
	texts   []*regexp.Regexp // the texts of allowed, in whatever case
}

// keptWording is read once.
var keptWording = sync.OnceValue(func() (w wording) {
	read := func(text string, into any) {
		if err := gocsv.UnmarshalString(text, into); err != nil {
			panic(err)
		}
	}
	var phrases []phrase
	read(phrasesCSV, &phrases)
	read(allowedCSV, &w.allowed)
	for _, a := range w.allowed {
		w.texts = append(w.texts, regexp.MustCompile(`(?i)`+regexp.QuoteMeta(a.Text)))
	}
	for _, t := range glossary.Terms() {
		w.forbid(t.Never, t.Term)
	}
	for _, p := range phrases {
		w.forbid(p.Never, p.Say)
	}
	return w
})

func (w *wording) forbid(never, say string) {
	for word := range strings.SplitSeq(never, "|") {
		if word = strings.TrimSpace(word); word != "" {
			pattern := `(?i)\b` + strings.ReplaceAll(regexp.QuoteMeta(word), " ", `\s+`)
			if last := word[len(word)-1]; last != ':' {
				pattern += `\b`
			}
			w.rules = append(w.rules, bannedWords{regexp.MustCompile(pattern),
				strings.ToLower(strings.Fields(word)[0]), say})
		}
	}
}

var (
	// namesInText are option names, file names and column names, which are not prose.
	namesInText = regexp.MustCompile(`--[a-z][a-z-]*|\b\w+\.(?:csv|toml|json|md|xlsx|tmpl)\b|\b\w+_\w+\b`)
	// spacedPercent finds a space before a percent sign, in a text or in a format (where %% stands for the sign).
	spacedPercent = regexp.MustCompile(`(?:[0-9]+|%[-+0-9.]*[dfgsv]) %%|[0-9]+ %(?:\W|$)`)
)

// wordFaults returns the words of a text that are not used, in the order of the glossary. Names of options, files and
// columns are left out of the reading. file is where the text is, as a path from the root of the repository.
func wordFaults(file, text string) []wordFault {
	text = namesInText.ReplaceAllString(text, "\x00")
	kept := keptWording()
	for i, a := range kept.allowed {
		if strings.HasPrefix(file, a.File) {
			text = kept.texts[i].ReplaceAllLiteralString(text, "\x00")
		}
	}
	small := strings.ToLower(text)
	var faults []wordFault
	for _, r := range kept.rules {
		if !strings.Contains(small, r.first) {
			continue
		}
		for _, found := range r.words.FindAllString(text, -1) {
			faults = append(faults, wordFault{found, r.say})
		}
	}
	for _, found := range spacedPercent.FindAllString(text, -1) {
		faults = append(faults, wordFault{found, "33%, without a space"})
	}
	return faults
}

func TestWordFaults(t *testing.T) {
	for _, c := range []struct {
		text string
		want string // the words found, with | between
	}{
		{"stop at £3,950", ""},
		{"bid to £3,950", "bid to"},
		{"what the whole\nway costs", "whole\nway"},
		{"there is no lot 7", ""},
		{"sale.pdf is no workbook", "is no"},
		{"the column segment_link, segments.csv and --points", ""},
		{"this segment", "segment"},
		{"33 % of all", "33 %"},
		{"%.1f %% of all", "%.1f %%"},
		{"33% of %d %ss, %d %s", ""},
		{"amended, and commended", ""},
		{"Not read: colour", "Not read:"},
	} {
		var found []string
		for _, f := range wordFaults("", c.text) {
			found = append(found, strings.TrimSpace(f.found))
		}
		if got := strings.Join(found, "|"); got != c.want {
			t.Errorf("%q: found %q, want %q", c.text, got, c.want)
		}
	}
}

// The glossary keeps to its own words.
func TestGlossaryKeepsToItself(t *testing.T) {
	for _, x := range glossary.Terms() {
		for _, f := range wordFaults("evaluate/glossary/glossary.csv", x.Term+": "+x.Meaning) {
			t.Errorf("%s: %s", x.Term, f)
		}
	}
}
