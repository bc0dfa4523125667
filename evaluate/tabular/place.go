package tabular

import "slices"

// Cells returns all cells of the row, untrimmed, one per header. They are the
// caller's to change. A row with a Problem has none.
func (p Place) Cells() []string { return slices.Clone(p.cells) }

// CellAt returns the cell at a position among the headers, as Table.At gives it;
// that of -1 is Absent. A caller with many rows to read asks for the positions once.
func (p Place) CellAt(i int) Cell {
	if i < 0 || i >= len(p.cells) {
		return Cell{}
	}
	return NewCell(p.cells[i])
}

// At returns the position of a column, wanted or extra, among the headers; -1
// where the file does not have it.
func (t *Table) At(name string) int { return t.position(name) }
