package lots

import (
	"reflect"
	"strings"
	"testing"

	"wreckoner/evaluate/tabular"
)

// Every column of a lot list is read into the field of its name.
func TestLotRowHasItsColumnsInOrder(t *testing.T) {
	var v lotRow
	for i, cell := range v.cells() {
		*cell = tabular.NewCell(tabular.Canonical(lotColumns[i].Name))
	}
	if n := reflect.TypeFor[lotRow]().NumField(); n != len(lotColumns) {
		t.Fatalf("%d fields for %d columns", n, len(lotColumns))
	}
	for f, cell := range reflect.ValueOf(v).Fields() {
		if got := cell.Interface().(tabular.Cell).Raw; got != strings.ToLower(f.Name) {
			t.Errorf("%s holds the column %q", f.Name, got)
		}
	}
}
