package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"

	"wreckoner/evaluate/shop"
	"wreckoner/evaluate/tabular"
)

// A Ranked is an evaluated list of which only the rows are kept, as a Stream
// wrote them. It writes the same bytes as a Screen.
type Ranked struct {
	Shop    *shop.Shop
	Folder  string // of the shop; "" where all is built in
	Seed    uint64
	Points  int
	Notices []string
	// Evidence is as of a Screen.
	Evidence bool
	Rejected iter.Seq2[tabular.Problem, error]
	// Rows are in the order to be written.
	Rows iter.Seq2[RankedRow, error]
}

// A RankedRow is a row of a Stream with its rank; 0 for none. It is valid until
// the next is asked for.
type RankedRow struct {
	Row  []byte
	Rank int
}

// CSV writes the rows with a header.
func (r *Ranked) CSV(w io.Writer) error {
	out, err := NewStream(false, true).WithEvidence(r.Evidence).Header(nil)
	if err != nil {
		return err
	}
	if _, err := w.Write(out); err != nil {
		return err
	}
	for row, err := range r.Rows {
		if err != nil {
			return err
		}
		out = out[:0]
		if row.Rank > 0 {
			out = strconv.AppendInt(out, int64(row.Rank), 10)
		}
		if _, err := w.Write(append(out, row.Row...)); err != nil {
			return err
		}
	}
	return nil
}

// JSON writes the list as one object.
func (r *Ranked) JSON(w io.Writer) error {
	p := &jsonList{w: w}
	p.field("seed", r.Seed)
	p.field("points", r.Points)
	p.field("shop", shopOf(r.Shop, r.Folder))
	p.open("rejected")
	for problem, err := range r.Rejected {
		if err != nil {
			return err
		}
		p.item(p.marshal(problem))
	}
	p.close()
	p.field("notices", append([]string{}, r.Notices...))
	p.open("lots")
	for row, err := range r.Rows {
		if err != nil {
			return err
		}
		p.item(p.ranked(row))
	}
	p.close()
	p.write([]byte("\n}\n"))
	return p.err
}

// jsonList writes an object field by field, and lists item by item, laid out as
// encode does it.
type jsonList struct {
	w             io.Writer
	fields, items int
	buf, line     bytes.Buffer
	err           error
}

func (p *jsonList) write(text []byte) {
	if p.err == nil {
		_, p.err = p.w.Write(text)
	}
}

// marshal returns the JSON of a value, in one line.
func (p *jsonList) marshal(v any) []byte {
	p.line.Reset()
	enc := json.NewEncoder(&p.line)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil && p.err == nil {
		p.err = err
	}
	return p.line.Bytes()
}

func (p *jsonList) name(name string) {
	before := ",\n "
	if p.fields == 0 {
		before = "{\n "
	}
	p.fields++
	p.write([]byte(before + strconv.Quote(name) + ": "))
}

func (p *jsonList) field(name string, v any) {
	p.name(name)
	p.indented(p.marshal(v), " ")
}

func (p *jsonList) open(name string) {
	p.name(name)
	p.write([]byte("["))
	p.items = 0
}

func (p *jsonList) item(text []byte) {
	before := ",\n  "
	if p.items == 0 {
		before = "\n  "
	}
	p.items++
	p.write([]byte(before))
	p.indented(text, "  ")
}

func (p *jsonList) close() {
	if p.items > 0 {
		p.write([]byte("\n "))
	}
	p.write([]byte("]"))
}

func (p *jsonList) indented(text []byte, prefix string) {
	p.buf.Reset()
	if err := json.Indent(&p.buf, bytes.TrimSpace(text), prefix, " "); err != nil && p.err == nil {
		p.err = err
	}
	p.write(p.buf.Bytes())
}

// unranked is the field that a stream leaves open. Within a string a quote is
// escaped, so that the first one is the field.
var unranked = []byte(`,"rank":null`)

// ranked fills in a row's rank.
func (p *jsonList) ranked(row RankedRow) []byte {
	if row.Rank == 0 {
		return row.Row
	}
	at := bytes.Index(row.Row, unranked)
	if at < 0 {
		p.err = errors.Join(p.err, fmt.Errorf("a row without a rank to fill in: %.80s", row.Row))
		return row.Row
	}
	end := at + len(unranked)
	p.line.Reset()
	p.line.Write(row.Row[:end-len("null")])
	p.line.WriteString(strconv.Itoa(row.Rank))
	p.line.Write(row.Row[end:])
	return p.line.Bytes()
}
