package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync/atomic"

	"wreckoner/evaluate/tabular"
)

// input is an opened list. Close it after reading.
type input struct {
	tabular.Source
	io.Closer
}

// share is how much of a list was read so far; 0 where nobody knows.
func (in input) share() float64 {
	f, ok := in.Closer.(*regular)
	if !ok || f.size == 0 {
		return 0
	}
	return float64(f.read.Load()) / float64(f.size)
}

// openSource opens a list, CSV or .xlsx as its content says; - is standard input.
// tab names a sheet, "" the first.
func (s *streams) openSource(path, tab string) (input, error) {
	r, name, err := s.open(path)
	if err != nil {
		return input{}, err
	}
	source, err := s.source(r, name, tab)
	if err != nil {
		return input{}, errors.Join(err, r.Close())
	}
	return input{source, r}, nil
}

// inputs are several opened lists, read one after the other.
type inputs []input

// share is how much of them was read so far; 0 where nobody knows.
func (in inputs) share() float64 {
	sum := 0.0
	for _, one := range in {
		sum += one.share()
	}
	return sum / float64(max(1, len(in)))
}

// Close closes them all.
func (in inputs) Close() error {
	var err error
	for _, one := range in {
		err = errors.Join(err, one.Close())
	}
	return err
}

func (s *streams) source(r io.Reader, name, tab string) (tabular.Source, error) {
	b := bufio.NewReaderSize(r, 1<<16)
	head, err := b.Peek(512)
	if err != nil && err != io.EOF {
		return nil, fmt.Errorf("%s: cannot be read: %w", tabular.Sanitise(name), err)
	}
	if tabular.Magic(head) {
		at, size, err := s.seekable(r, b, name)
		if err != nil {
			return nil, err
		}
		return tabular.OpenWorkbook(name, at, size, tab)
	}
	if what := foreign(head); what != "" {
		return nil, fmt.Errorf("%s: is %s; save the list as .xlsx or as CSV UTF-8", tabular.Sanitise(name), what)
	}
	if tab != "" {
		return nil, usagef("--sheet %q: %s is not a workbook; leave --sheet out", tab, name)
	}
	return tabular.NewCSV(name, b), nil
}

// foreign says what a file is that is no list, as its first bytes tell.
func foreign(head []byte) string {
	text := strings.ToLower(strings.TrimLeft(strings.TrimPrefix(string(head), "\ufeff"), " \t\r\n"))
	for _, kind := range []struct{ magic, what string }{
		{"\xd0\xcf\x11\xe0", "an old workbook (.xls), or one with a password"},
		{"%pdf-", "a PDF"},
		{"\x1f\x8b", "compressed (gzip)"},
		{"<!doctype html", "a web page, whatever its name says"},
		{"<html", "a web page, whatever its name says"},
		{"<?xml", "XML, whatever its name says"},
		{"{\\rtf", "a text document"},
	} {
		if strings.HasPrefix(text, kind.magic) || strings.HasPrefix(string(head), kind.magic) {
			return kind.what
		}
	}
	return ""
}

// mostPiped is how much of a workbook is taken from a pipe, in bytes.
const mostPiped = 64 << 20

// seekable returns a workbook so that any part of it can be read: a zip archive has
// its table of contents at its end.
func (s *streams) seekable(r io.Reader, b *bufio.Reader, name string) (io.ReaderAt, int64, error) {
	if f, ok := r.(*regular); ok {
		return f, f.size, nil
	}
	content, err := io.ReadAll(io.LimitReader(b, mostPiped+1))
	if err != nil {
		return nil, 0, fmt.Errorf("%s: cannot be read: %w", tabular.Sanitise(name), err)
	}
	if len(content) > mostPiped {
		return nil, 0, fmt.Errorf("%s: is a workbook of more than %d MiB; save it to a file and name that",
			tabular.Sanitise(name), mostPiped>>20)
	}
	return bytes.NewReader(content), int64(len(content)), nil
}

// regular reads a file on a disk. It says so where the file shrinks meanwhile,
// and ends where the run is interrupted.
type regular struct {
	file *os.File
	ctx  context.Context
	size int64
	read atomic.Int64
}

func (f *regular) Read(p []byte) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := f.file.Read(p)
	read := f.read.Add(int64(n))
	if err == io.EOF && read < f.size {
		return n, f.shrank(read)
	}
	return n, plainError(err)
}

func (f *regular) ReadAt(p []byte, at int64) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	n, err := f.file.ReadAt(p, at)
	if err == io.EOF && at+int64(n) < f.size {
		return n, f.shrank(at + int64(n))
	}
	if err == io.EOF {
		return n, err
	}
	return n, plainError(err)
}

func (f *regular) Close() error { return f.file.Close() }

func (f *regular) shrank(to int64) error {
	return fmt.Errorf("it shrank while it was read, from %d bytes to %d; try again once it is fully written", f.size, to)
}

// piped reads what may keep one waiting, such as a terminal, and ends where the
// run is interrupted. The read that waits then is left behind, to end with the
// program.
type piped struct {
	io.Reader
	ctx context.Context
	buf []byte
}

func (p *piped) Read(into []byte) (int, error) {
	if err := p.ctx.Err(); err != nil {
		return 0, err
	}
	if p.buf == nil {
		p.buf = make([]byte, 1<<16)
	}
	type outcome struct {
		n   int
		err error
	}
	done := make(chan outcome, 1)
	buf := p.buf[:min(len(into), len(p.buf))]
	go func() {
		n, err := p.Reader.Read(buf)
		done <- outcome{n, err}
	}()
	select {
	case o := <-done:
		return copy(into, buf[:o.n]), o.err
	case <-p.ctx.Done():
		p.buf = nil
		return 0, p.ctx.Err()
	}
}
