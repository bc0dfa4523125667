package evidence

import "testing"

// A row that is added goes into the columns that the file has, whatever they are called.
func TestARowIsAddedUnderTheFilesOwnHeaders(t *testing.T) {
	header := []string{"Make", "Model", "Yr", "Mileage", "Price", "Cat", "Seen", "Sold for"}
	for column, want := range map[string]int{"make": 0, "year": 2, "miles": 3, "asked": 4, "marked": 5, "last_seen": 6,
		"got": 7, "build": -1} {
		if at := advertColumns.at(header, column); at != want {
			t.Errorf("%s is at %d of %v, want %d", column, at, header, want)
		}
	}
}
