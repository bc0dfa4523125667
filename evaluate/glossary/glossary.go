// Package glossary holds the words that wreckoner uses: for each thing its one name, what it means, and the words that
// are not used for it. Help and pages print it, and a test holds every text that people read to it.
package glossary

import (
	_ "embed"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/gocarina/gocsv"
)

var (
	//go:embed glossary.csv
	termsCSV string
	//go:embed phrases.csv
	phrasesCSV string
	//go:embed allowed.csv
	allowedCSV string
)

// Term is one name, what it means to the reader, and the words that are not used for it, with | between them.
type Term struct {
	Term    string `csv:"term"`
	Meaning string `csv:"meaning"`
	Never   string `csv:"never"`
}

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

// Fault is a word that is not used, as it was found, and what to say instead.
type Fault struct{ Found, Say string }

func (f Fault) String() string { return fmt.Sprintf("%q: say %q", f.Found, f.Say) }

type banned struct {
	words *regexp.Regexp
	say   string
}

var (
	terms   []Term
	rules   []banned
	allowed []allowance

	// names are option names, file names and column names, which are not prose.
	names = regexp.MustCompile(`--[a-z][a-z-]*|\b\w+\.(?:csv|toml|json|md|xlsx|tmpl)\b|\b\w+_\w+\b`)
	// spaced finds a space before a percent sign, in a text or in a format (where %% stands for the sign).
	spaced = regexp.MustCompile(`(?:[0-9]+|%[-+0-9.]*[dfgsv]) %%|[0-9]+ %(?:\W|$)`)
)

func init() {
	var phrases []phrase
	mustRead(termsCSV, &terms)
	mustRead(phrasesCSV, &phrases)
	mustRead(allowedCSV, &allowed)
	for _, t := range terms {
		forbid(t.Never, t.Term)
	}
	for _, p := range phrases {
		forbid(p.Never, p.Say)
	}
}

func mustRead(text string, into any) {
	if err := gocsv.UnmarshalString(text, into); err != nil {
		panic("glossary: " + err.Error())
	}
}

func forbid(never, say string) {
	for word := range strings.SplitSeq(never, "|") {
		if word = strings.TrimSpace(word); word != "" {
			pattern := `(?i)\b` + strings.ReplaceAll(regexp.QuoteMeta(word), " ", `\s+`)
			if last := word[len(word)-1]; last != ':' {
				pattern += `\b`
			}
			rules = append(rules, banned{regexp.MustCompile(pattern), say})
		}
	}
}

// Terms returns the glossary in the order in which it is printed.
func Terms() []Term { return slices.Clone(terms) }

// Faults returns the words of a text that are not used, in the order of the glossary. Names of options, files and
// columns are left out of the reading. file is where the text is, as a path from the root of the repository.
func Faults(file, text string) []Fault {
	text = names.ReplaceAllString(text, "\x00")
	for _, a := range allowed {
		if strings.HasPrefix(file, a.File) {
			text = regexp.MustCompile(`(?i)`+regexp.QuoteMeta(a.Text)).ReplaceAllLiteralString(text, "\x00")
		}
	}
	var faults []Fault
	for _, r := range rules {
		for _, found := range r.words.FindAllString(text, -1) {
			faults = append(faults, Fault{found, r.say})
		}
	}
	for _, found := range spaced.FindAllString(text, -1) {
		faults = append(faults, Fault{found, "33%, without a space"})
	}
	return faults
}
