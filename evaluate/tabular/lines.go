package tabular

import (
	"bytes"
	"io"
)

// Longest is the length in bytes, 1 MiB, beyond which a line or a record is a
// fault: far above any lot's description, and small enough to hold.
const Longest = 1 << 20

// lines cuts a stream into the lines that an editor counts, holding no more
// than about one line. The first line end decides: after a lone CR, each CR, LF
// or CRLF ends a line; otherwise LF and CRLF do, and a lone CR is text.
type lines struct {
	r        io.Reader
	buf      []byte
	from, to int
	err      error
	number   int // of the line last returned, from 1
	ends     ends
}

type ends byte

const (
	unknown ends = iota
	lf
	cr
)

// next returns the next line and its line end; long says that it was over
// Longest and is cut. The bytes hold until the next call. After the last line
// the error is io.EOF; any other is the stream's own.
func (l *lines) next() (text []byte, end string, long bool, err error) {
	searched := 0
	for {
		window := l.buf[l.from:l.to]
		if at, size := l.find(window, searched); size > 0 {
			l.from += at + size
			l.number++
			text, end := l.trim(window[:at], window[at:at+size])
			if len(text) > Longest {
				return text[:Longest], end, true, nil
			}
			return text, end, false, nil
		}
		if l.err == io.EOF && len(window) > 0 {
			l.from = l.to
			l.number++
			text, end := l.trim(window, nil)
			return text[:min(len(text), Longest)], end, len(text) > Longest, nil
		}
		if l.err != nil {
			return nil, "", false, l.err
		}
		if len(window) > Longest+1 {
			return l.skip()
		}
		searched = max(0, len(window)-1)
		l.fill()
	}
}

// find looks for the end of the first line, from an offset on. A size of 0 means
// that it is not there yet.
func (l *lines) find(window []byte, searched int) (at, size int) {
	rest := window[searched:]
	if l.ends == lf {
		i := bytes.IndexByte(rest, '\n')
		if i < 0 {
			return 0, 0
		}
		return searched + i, 1
	}
	i := bytes.IndexAny(rest, "\r\n")
	if i < 0 {
		return 0, 0
	}
	followed := i+1 < len(rest)
	switch {
	case rest[i] == '\n':
		size = 1
		if l.ends == unknown {
			l.ends = lf
		}
	case !followed && l.err == nil: // perhaps a CRLF
		return 0, 0
	case followed && rest[i+1] == '\n':
		size = 2
		if l.ends == unknown {
			l.ends = lf
		}
	default:
		size = 1
		l.ends = cr
	}
	return searched + i, size
}

// trim takes the CRs before an LF from the text to the line end.
func (l *lines) trim(text, end []byte) ([]byte, string) {
	if l.ends == cr {
		return text, string(end)
	}
	kept := bytes.TrimRight(text, "\r")
	switch n := len(text) - len(kept); {
	case n == 0 && len(end) == 1:
		return kept, "\n"
	case n == 1 && len(end) == 1:
		return kept, "\r\n"
	default:
		return kept, string(text[len(kept):]) + string(end)
	}
}

// skip passes over a line that is too long, of which it returns the beginning.
func (l *lines) skip() (text []byte, end string, long bool, err error) {
	text = bytes.Clone(l.buf[l.from : l.from+Longest])
	for {
		window := l.buf[l.from:l.to]
		if at, size := l.find(window, 0); size > 0 {
			l.from += at + size
			l.number++
			_, end = l.trim(nil, window[at:at+size])
			return text, end, true, nil
		}
		if l.err == io.EOF {
			l.from = l.to
			l.number++
			return text, "", true, nil
		}
		if l.err != nil {
			return nil, "", false, l.err
		}
		l.from = l.to
		if n := len(window); n > 0 && window[n-1] == '\r' {
			l.from--
		}
		l.fill()
	}
}

// fill reads more of the stream behind what is there.
func (l *lines) fill() {
	const start = 1 << 16
	if l.from == l.to {
		l.from, l.to = 0, 0
	}
	switch {
	case l.buf == nil:
		l.buf = make([]byte, start)
	case len(l.buf)-l.to >= start/4:
	case l.from > 0 && len(l.buf)-(l.to-l.from) >= start/4:
		l.to = copy(l.buf, l.buf[l.from:l.to])
		l.from = 0
	default:
		grown := make([]byte, 2*len(l.buf))
		l.to = copy(grown, l.buf[l.from:l.to])
		l.from, l.buf = 0, grown
	}
	for range 100 {
		n, err := l.r.Read(l.buf[l.to:])
		l.to += n
		if err != nil {
			l.err = err
			return
		}
		if n > 0 {
			return
		}
	}
	l.err = io.ErrNoProgress
}
