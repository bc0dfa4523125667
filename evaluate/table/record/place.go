package record

import "slices"

// Cells returns all cells of the row, untrimmed, one per header. They are the
// caller's to change. A row with a Problem has none.
func (p Place) Cells() []string { return slices.Clone(p.cells) }

// At returns the position of a column, wanted or extra, among the headers; -1
// where the file does not have it.
func (t *Table) At(name string) int { return t.position(name) }
