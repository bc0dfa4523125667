package evidence

import (
	_ "embed" // what people write
	"encoding/csv"
	"strings"
)

// What people write in columns of choices: column, read, words.
//
//go:embed words.csv
var wordsCSV string

// words are what people's words mean, by column and word.
var words = readWords(wordsCSV)

func readWords(text string) map[string]map[string]string {
	rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		panic("evidence: words.csv: " + err.Error()) // the file is embedded
	}
	all := map[string]map[string]string{}
	for _, row := range rows[1:] {
		if all[row[0]] == nil {
			all[row[0]] = map[string]string{}
		}
		for word := range strings.SplitSeq(row[2], "|") {
			all[row[0]][word] = row[1]
		}
	}
	return all
}
