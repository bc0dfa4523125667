package evidence

import (
	_ "embed" // what people write
	"wreckoner/evaluate/tabular/layout"
)

// What people write in columns of choices: column, read, words.
//
//go:embed words.csv
var wordsCSV string

// words are what people's words mean, by column and word.
var words = layout.Words(wordsCSV)
