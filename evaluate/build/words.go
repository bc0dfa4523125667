package build

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"sync"

	"wreckoner/damage/listing"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular/layout"
)

// What people call the ledger's columns: column, called.
//
//go:embed headers.csv
var headersCSV string

// What people write in a ledger: kind, means, words. The kinds are state; yes, of a column that asks whether the job is
// done; same, other words for a fixed item; near, whole cells close to the car's own amounts and to fixed items;
// within, words that make a cell close to one of them wherever they occur in it; sure, words of costs that belong to
// no zone, and, without a meaning, words that may go with them; back, that money came back; passing, words of a job
// that say neither where nor what; open, words that name more than one part of a car; workshop, the workshop's own
// costs; period, words that say for which month one of those is; class, of a column of classes.
//
//go:embed words.csv
var wordsCSV string

var calledBy = layout.Parse(headersCSV)

// A vocabulary is what words mean, by kind and word, and the words of each kind, the longest first.
type vocabulary struct {
	means  map[string]map[string][]string
	listed map[string][]string
}

// ledgerWords is the vocabulary of ledgers, which is read when the first ledger is.
var ledgerWords = sync.OnceValue(func() vocabulary {
	rows, err := csv.NewReader(strings.NewReader(wordsCSV)).ReadAll()
	if err != nil {
		panic("build: words.csv: " + err.Error()) // the file is embedded
	}
	means, listed := map[string]map[string][]string{}, map[string][]string{}
	for _, row := range rows[1:] {
		if means[row[0]] == nil {
			means[row[0]] = map[string][]string{}
		}
		for word := range strings.SplitSeq(row[2], "|") {
			if means[row[0]][word] == nil {
				listed[row[0]] = append(listed[row[0]], word)
			}
			means[row[0]][word] = append(means[row[0]][word], row[1])
		}
	}
	for _, words := range listed {
		slices.SortStableFunc(words, func(a, b string) int {
			return len(strings.Fields(b)) - len(strings.Fields(a))
		})
	}
	return vocabulary{means, listed}
})

// meaning is the one meaning of a word of a kind, "" where the kind does not have it.
func meaning(kind, word string) string {
	if all := ledgerWords().means[kind][word]; len(all) > 0 {
		return all[0]
	}
	return ""
}

// straight makes quotes, dashes and spaces those of a typewriter.
var straight = strings.NewReplacer("’", "'", "–", "-", "\u00a0", " ")

// wordKey is the form in which words are compared.
func wordKey(text string) string {
	text = straight.Replace(text)
	return strings.ToLower(strings.Join(strings.Fields(text), " "))
}

// apart takes the marks out of words, so that "buyer's premium + M.O.T." is "buyers premium and mot".
var apart = strings.NewReplacer("'", "", ".", "", "&", " and ", "+", " and ", "-", " ", "/", " ", ",", " ", ";", " ",
	":", " ", "(", " ", ")", " ", "\"", " ", "*", " ", "!", " ", "?", " ", "#", " ")

// plainWords are the words of a text in lower case, without marks.
func plainWords(text string) []string { return strings.Fields(apart.Replace(wordKey(text))) }

// phrasesIn returns which phrases of a kind occur in words, in the order of the words, longer phrases before those
// that they contain, and the words that are in none.
func phrasesIn(kind string, words []string) (found []string, left []string) {
	at := make([]string, len(words))
	taken := make([]bool, len(words))
	for _, phrase := range ledgerWords().listed[kind] {
		parts := strings.Fields(phrase)
		for i := 0; i+len(parts) <= len(words); i++ {
			if !slices.Equal(words[i:i+len(parts)], parts) || slices.Contains(taken[i:i+len(parts)], true) {
				continue
			}
			at[i] = phrase
			for j := range parts {
				taken[i+j] = true
			}
		}
	}
	for i, phrase := range at {
		if phrase != "" {
			found = append(found, phrase)
		}
		if !taken[i] {
			left = append(left, words[i])
		}
	}
	return found, left
}

// figure reports whether a word is a number, with or without a unit behind it.
func figure(word string) bool { return word[0] >= '0' && word[0] <= '9' }

// sureOverhead reports whether words name costs that belong to no zone, and nothing else.
func sureOverhead(what string) bool {
	found, left := phrasesIn("sure", plainWords(what))
	left = slices.DeleteFunc(left, figure)
	return len(left) == 0 && slices.ContainsFunc(found, func(p string) bool { return meaning("sure", p) != "" })
}

// jobWords are the words of a job without those that say neither where nor what; back says that money came back.
func jobWords(what string) (job string, back bool) {
	text := " " + strings.Join(strings.FieldsFunc(wordKey(what), func(r rune) bool {
		return r == ' ' || r == ',' ||
			r == ';' || r == '(' || r == ')'
	}), " ") + " "
	for _, kind := range []string{"back", "passing"} {
		for _, word := range ledgerWords().listed[kind] {
			if strings.Contains(text, " "+word+" ") {
				text = strings.ReplaceAll(text, " "+word+" ", " ")
				back = back || kind == "back"
			}
		}
	}
	return strings.Trim(text, " -"), back
}

// partOf reads the words of a job as a zone and a class, with words for its zone before them or "".
func partOf(zone, what string) (p listing.Place, ok bool) {
	job, _ := jobWords(what)
	p, ok = lots.PartOf(strings.TrimSpace(zone + " " + job))
	if _, open := ledgerWords().means["open"][job]; ok && open {
		if p.Doubt == "" {
			p.Doubt = fmt.Sprintf("%s can be more than one part; %s %s is one", job, p.Zone, p.Class.Letter())
		}
		if p.ClassDoubt == "" {
			p.ClassDoubt = fmt.Sprintf("it can be more than one part; class %s is one", p.Class.Letter())
		}
	}
	return p, ok
}
