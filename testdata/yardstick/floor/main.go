// Floor does what no faster screen can leave out: it reads every row of a lot
// list and writes one row of the command's own output for each, with
// encoding/csv and nothing else.
//
//	floor LOTS ROWS OUT
//
// ROWS is some output of wreckoner screen --format csv; its rows are written
// in turn, as often as LOTS has lots.
package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
)

func main() {
	if len(os.Args) != 4 {
		fmt.Fprintln(os.Stderr, "usage: floor LOTS ROWS OUT")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2], os.Args[3]); err != nil {
		fmt.Fprintln(os.Stderr, "floor:", err)
		os.Exit(1)
	}
}

func run(lots, rows, out string) error {
	written, err := readAll(rows)
	if err != nil {
		return err
	}
	if len(written) < 2 {
		return fmt.Errorf("%s has no rows", rows)
	}
	in, err := os.Open(lots)
	if err != nil {
		return err
	}
	defer in.Close()
	f, err := os.Create(out)
	if err != nil {
		return err
	}
	if err := copyRows(f, in, written); err != nil {
		return errors.Join(err, f.Close())
	}
	return f.Close()
}

func readAll(path string) ([][]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return csv.NewReader(f).ReadAll()
}

// copyRows writes a header, rows[0], and for each lot one of the others.
func copyRows(w io.Writer, lots io.Reader, rows [][]string) error {
	r := csv.NewReader(lots)
	r.ReuseRecord = true
	if _, err := r.Read(); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	if err := out.Write(rows[0]); err != nil {
		return err
	}
	for i := 0; ; i++ {
		if _, err := r.Read(); err == io.EOF {
			break
		} else if err != nil {
			return err
		}
		if err := out.Write(rows[1+i%(len(rows)-1)]); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
