package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"

	"wreckoner/evaluate"
)

// A Stream writes results one by one, without a rank: as a CSV row, or as one
// JSON object a line. It is not for concurrent use.
type Stream struct {
	json  bool
	guard Guard
	buf   bytes.Buffer
	csv   *csv.Writer
	enc   *json.Encoder
	rows  Records
	row   []string
	lot   lotJSON
	flat  []any
}

// NewStream returns a stream of JSON lines, or of CSV.
func NewStream(asJSON bool, guard Guard) *Stream {
	s := &Stream{json: asJSON, guard: guard, rows: Records{Columns: screenFields}, row: make([]string, len(screenFields))}
	s.csv = csv.NewWriter(&s.buf)
	s.enc = json.NewEncoder(&s.buf)
	s.enc.SetEscapeHTML(false)
	return s
}

// Header appends the header of a CSV to out; JSON has none.
func (s *Stream) Header(out []byte) ([]byte, error) {
	if s.json {
		return out, nil
	}
	for i, f := range screenFields {
		s.row[i] = f.Name
	}
	return s.write(out)
}

// Append appends one result to out.
func (s *Stream) Append(out []byte, r *evaluate.Result) ([]byte, error) {
	s.lot.fill(r)
	if s.json {
		s.buf.Reset()
		if err := s.enc.Encode(&s.lot); err != nil {
			return out, fmt.Errorf("lot %s: %w", r.Lot.Number, err)
		}
		return append(out, s.buf.Bytes()...), nil
	}
	s.flat = recordOf(s.flat[:0], &s.lot)
	for i, v := range s.flat {
		s.row[i] = s.rows.cell(i, v, s.guard)
	}
	return s.write(out)
}

func (s *Stream) write(out []byte) ([]byte, error) {
	s.buf.Reset()
	if err := s.csv.Write(s.row); err != nil {
		return out, err
	}
	s.csv.Flush()
	return append(out, s.buf.Bytes()...), s.csv.Error()
}
