package evidence

import (
	_ "embed" // what people write
	"wreckoner/evaluate/tabular"
	"wreckoner/evaluate/tabular/layout"
)

// What people write in columns of choices: column, read, words.
//
//go:embed words.csv
var wordsCSV string

// words are what people's words mean, by column and word.
var words = layout.Words(wordsCSV)

// Meant returns what a person's word in a column of choices, such as won, means; "" where that is not known.
func Meant(column, word string) string { return words[column][tabular.NameKey(word)] }

// Called returns what people call a column of a file, such as won of results, beside its own name.
func Called(file, column string) []string { return calledBy[file+" "+column] }
