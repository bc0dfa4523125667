package main

import (
	"slices"

	"github.com/spf13/pflag"
)

// carFiles are the files of a command about several cars: their estimates and the ledger.
type carFiles struct {
	ledger  string
	columns ledgerOptions
}

func (o *carFiles) flags(f *pflag.FlagSet) {
	f.StringVar(&o.ledger, "ledger", "", "the `LEDGER`: the file of what was spent")
	o.columns.flags(f)
}

// estimates returns the files of the estimates that paths name: files, patterns and folders. It
// fails where the ledger is not named, or where two of all files, those written among them, are one.
func (o *carFiles) estimates(command string, paths []string, written ...string) ([]string, error) {
	if o.ledger == "" {
		return nil, usagef("%s: name the ledger: --ledger ledger.csv", command)
	}
	paths, err := expand(paths, ".json")
	if err != nil {
		return nil, err
	}
	return paths, single(slices.Concat(paths, []string{o.ledger}, written)...)
}
