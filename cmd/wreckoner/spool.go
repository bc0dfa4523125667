package main

import (
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"

	"wreckoner/evaluate/lots"
)

// spoolBuffer is how much of a spool is held in memory, in bytes: the rows of a
// usual sale never see a disk.
var spoolBuffer = 4 << 20

// spool holds what is too much for the memory in a temporary file, which is made
// when it is needed and of which nothing is left behind, however the program
// ends. Close it after use. It is not for concurrent use.
type spool struct {
	dirs  []string // where the file may be, the first that takes it
	file  *os.File
	named bool   // the file still has a name
	size  int64  // in the file
	tail  []byte // what comes after it
}

// newSpool returns a spool that goes beside the output file, if there is one, for
// there is room for as much; else to the system's place.
func newSpool(output string) *spool {
	s := &spool{}
	if output != "" {
		if info, err := os.Stat(output); err != nil || info.Mode().IsRegular() {
			s.dirs = append(s.dirs, filepath.Dir(output))
		}
	}
	s.dirs = append(s.dirs, os.TempDir())
	return s
}

// Write adds p.
func (s *spool) Write(p []byte) (int, error) {
	if len(s.tail) > 0 && len(s.tail)+len(p) > spoolBuffer {
		if err := s.flush(); err != nil {
			return 0, fmt.Errorf("a temporary file cannot be written: %w; set TMPDIR to a folder with more room, or use "+
				"--stream", withoutCall(err))
		}
	}
	s.tail = append(s.tail, p...)
	return len(p), nil
}

// end is where the next Write goes.
func (s *spool) end() int64 { return s.size + int64(len(s.tail)) }

func (s *spool) flush() error {
	if s.file == nil {
		if err := s.create(); err != nil {
			return err
		}
	}
	n, err := s.file.Write(s.tail)
	s.size += int64(n)
	s.tail = s.tail[:0]
	return err
}

// create makes the file. Where the system allows it, its name is taken away at
// once: then it is gone with the program, even if that is killed.
func (s *spool) create() (err error) {
	for _, dir := range s.dirs {
		if s.file, err = os.CreateTemp(dir, ".wreckoner-*.part"); err == nil {
			s.named = os.Remove(s.file.Name()) != nil
			return nil
		}
	}
	return err
}

// ReadAt is io.ReaderAt.
func (s *spool) ReadAt(p []byte, at int64) (n int, err error) {
	if at < s.size {
		if n, err = s.file.ReadAt(p[:min(int64(len(p)), s.size-at)], at); err != nil {
			return n, fmt.Errorf("a temporary file cannot be read: %w", withoutCall(err))
		}
	}
	if n < len(p) {
		if from := at + int64(n) - s.size; from < int64(len(s.tail)) {
			n += copy(p[n:], s.tail[from:])
		}
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// Close gives the spool up.
func (s *spool) Close() error {
	if s.file == nil {
		return nil
	}
	err := s.file.Close()
	if s.named {
		err = errors.Join(err, os.Remove(s.file.Name()))
	}
	s.file = nil
	return err
}

// rejects are rejected rows, in a spool.
type rejects struct {
	*spool
	enc  *gob.Encoder
	rows int
}

func newRejects(output string) *rejects {
	r := &rejects{spool: newSpool(output)}
	r.enc = gob.NewEncoder(r.spool)
	return r
}

func (r *rejects) add(row lots.Rejected) error {
	r.rows++
	return r.enc.Encode(row)
}

// all yields the rows as they were added.
func (r *rejects) all() iter.Seq2[lots.Rejected, error] {
	return func(yield func(lots.Rejected, error) bool) {
		dec := gob.NewDecoder(io.NewSectionReader(r, 0, r.end()))
		for range r.rows {
			var row lots.Rejected
			err := dec.Decode(&row)
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}
