package build

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"

	"wreckoner/damage/listing"
	"wreckoner/evaluate/lots"
	"wreckoner/evaluate/tabular/layout"
)

// What people call the ledger's columns: column, called.
//
//go:embed headers.csv
var headersCSV string

// What people write in a ledger: kind, means, words. The kinds are state; yes, of a column that asks whether the job is
// done; near, words close to those of the car's own amounts and to the names of fixed items; back, that money came
// back; passing, words of a job that say neither where nor what; open, words
// that name more than one part of a car; class, of a column of classes.
//
//go:embed words.csv
var wordsCSV string

var calledBy = layout.Parse(headersCSV)

// ledgerWords are what words mean, by kind and word; listed are the words of a kind, the longest first.
var ledgerWords, listed = readWords(wordsCSV)

func readWords(text string) (means map[string]map[string]string, listed map[string][]string) {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		panic("build: words.csv: " + err.Error()) // the file is embedded
	}
	means, listed = map[string]map[string]string{}, map[string][]string{}
	for _, row := range rows[1:] {
		if means[row[0]] == nil {
			means[row[0]] = map[string]string{}
		}
		for word := range strings.SplitSeq(row[2], "|") {
			means[row[0]][word] = row[1]
			listed[row[0]] = append(listed[row[0]], word)
		}
	}
	return means, listed
}

// straight makes quotes, dashes and spaces those of a typewriter.
var straight = strings.NewReplacer("’", "'", "–", "-", "\u00a0", " ")

// wordKey is the form in which words are compared.
func wordKey(text string) string {
	text = straight.Replace(text)
	return strings.ToLower(strings.Join(strings.Fields(text), " "))
}

// jobWords are the words of a job without those that say neither where nor what; back says that money came back.
func jobWords(what string) (job string, back bool) {
	text := " " + strings.Join(strings.FieldsFunc(wordKey(what), func(r rune) bool {
		return r == ' ' || r == ',' ||
			r == ';' || r == '(' || r == ')'
	}), " ") + " "
	for _, kind := range []string{"back", "passing"} {
		for _, word := range listed[kind] {
			if strings.Contains(text, " "+word+" ") {
				text = strings.ReplaceAll(text, " "+word+" ", " ")
				back = back || kind == "back"
			}
		}
	}
	return strings.TrimSpace(text), back
}

// partOf reads the words of a job as a zone and a class, with words for its zone before them or "".
func partOf(zone, what string) (p listing.Place, ok bool) {
	job, _ := jobWords(what)
	p, ok = lots.PartOf(strings.TrimSpace(zone + " " + job))
	if _, open := ledgerWords["open"][job]; ok && open {
		if p.Doubt == "" {
			p.Doubt = fmt.Sprintf("%s can be more than one part; %s %s is one", job, p.Zone, p.Class.Letter())
		}
		if p.ClassDoubt == "" {
			p.ClassDoubt = fmt.Sprintf("it can be more than one part; class %s is one", p.Class.Letter())
		}
	}
	return p, ok
}
