package tabular

// This file and its neighbours read the rows of a sheet in an .xlsx workbook (Office Open XML,
// ECMA-376 part 1) as a Source, so that a workbook goes through the same
// reader as a CSV file. It streams: of the sheet it holds a row at a time, of the
// workbook the shared texts. Every limit below is far above a sale's list; a
// workbook beyond one of them, a zip bomb among them, is refused with a message.
//
// excelize, by which workbooks are written, is not used for reading: DEVELOPERS.md has
// what was measured. Tests hold this package against it.

import (
	"archive/zip"
	"errors"
	"fmt"
	"io"
	"strings"
)

// The limits of what is read, in bytes after unpacking.
const (
	mostFile    = 256 << 20 // the workbook as it is on the disk
	mostSheet   = 256 << 20 // a sheet's XML
	mostPart    = 64 << 20  // the XML of any other part
	mostTag     = 4 << 20   // between one tag's start and the next
	mostTexts   = 2_000_000 // shared texts, in number
	mostColumns = 1024      // further right nothing may stand
	mostDepth   = 64        // of XML elements within one another
)

// Magic reports whether a file that starts so may be a workbook: a zip archive.
func Magic(head []byte) bool {
	return strings.HasPrefix(string(head), "PK\x03\x04") || strings.HasPrefix(string(head), "PK\x05\x06")
}

// OpenWorkbook opens a workbook of that size and finds the sheet of that name, whatever
// its case; "" is the first that is not hidden. file is its name in messages.
func OpenWorkbook(file string, r io.ReaderAt, size int64, name string) (*Workbook, error) {
	broken := func(err error) error {
		return fmt.Errorf("%s: cannot be read as a workbook: %w", Sanitise(file), err)
	}
	if size > mostFile {
		return nil, broken(fmt.Errorf("it is %d MiB, more than the %d MiB that can be read; take the pictures out, or "+
			"save the list as CSV", size>>20, mostFile>>20))
	}
	z, err := zip.NewReader(r, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return nil, broken(fmt.Errorf("the file is cut short or damaged (%w); download it again, or open and save it in "+
			"a spreadsheet program", err))
	}
	b, err := openBook(z)
	if err != nil {
		return nil, broken(err)
	}
	tab, err := b.pick(name)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", Sanitise(file), err)
	}
	s := &Workbook{file: file, book: b, tab: tab}
	if s.xml, err = b.open(tab.part, mostSheet); err != nil {
		return nil, broken(err)
	}
	if others := b.others(tab); name == "" && len(others) > 0 {
		s.notices = append(s.notices, fmt.Sprintf("%s: sheet %s is read; --sheet reads another: %s", file, tab.name,
			strings.Join(others, ", ")))
	}
	return s, nil
}
