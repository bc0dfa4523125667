package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"wreckoner/evaluate"
)

// A Stream writes results one by one, without a rank: as a CSV row, or as one
// JSON object a line. It is not for concurrent use.
type Stream struct {
	json  bool
	guard Guard
	// evidence adds the columns of evidenceFields; fields are all columns.
	evidence bool
	fields   []Field
	buf      bytes.Buffer
	csv      *csv.Writer
	enc      *json.Encoder
	lot      lotJSON
	row      []string
	// figures holds the text of a row's numbers: one piece of memory for all.
	figures strings.Builder
	scratch [32]byte
	longest int // row, in bytes
}

// NewStream returns a stream of JSON lines, or of CSV.
func NewStream(asJSON bool, guard Guard) *Stream {
	s := &Stream{json: asJSON, guard: guard, fields: screenFields}
	s.csv = csv.NewWriter(&s.buf)
	s.enc = json.NewEncoder(&s.buf)
	s.enc.SetEscapeHTML(false)
	return s
}

// WithEvidence adds the columns of what evidence says, where there is evidence.
func (s *Stream) WithEvidence(evidence bool) *Stream {
	s.evidence, s.fields = evidence, fieldsOf(evidence)
	return s
}

// Header appends the header of a CSV to out; JSON has none.
func (s *Stream) Header(out []byte) ([]byte, error) {
	if s.json {
		return out, nil
	}
	s.row = s.row[:0]
	for _, f := range s.fields {
		s.row = append(s.row, f.Name)
	}
	return s.write(out)
}

// Expect returns how many bytes so many results may take, by the longest so far.
func (s *Stream) Expect(results int) int { return results * s.longest }

// Append appends one result to out.
func (s *Stream) Append(out []byte, r *evaluate.Result) ([]byte, error) {
	before := len(out)
	out, err := s.append(out, r)
	s.longest = max(s.longest, min(len(out)-before, 1<<12)) // one endless row is not the rule
	return out, err
}

func (s *Stream) append(out []byte, r *evaluate.Result) ([]byte, error) {
	s.lot.fill(r)
	if s.json {
		s.buf.Reset()
		if err := s.enc.Encode(&s.lot); err != nil {
			return out, fmt.Errorf("lot %s: %w", r.Lot.Number, err)
		}
		return append(out, s.buf.Bytes()...), nil
	}
	s.row = s.row[:0]
	s.figures.Reset()
	s.figures.Grow(384) // enough for most rows
	flatten(&s.lot, s)
	if s.evidence {
		flattenEvidence(s.lot.appraisalJSON, s)
	}
	return s.write(out)
}

func (s *Stream) text(text string) {
	if bool(s.guard) && s.fields[len(s.row)].Text {
		text = harmless(text)
	}
	s.row = append(s.row, text)
}

func (s *Stream) number(x float64) { s.figure(strconv.AppendFloat(s.scratch[:0], x, 'f', -1, 64)) }

func (s *Stream) integer(n int) { s.figure(strconv.AppendInt(s.scratch[:0], int64(n), 10)) }

func (s *Stream) figure(digits []byte) {
	from := s.figures.Len()
	s.figures.Write(digits)
	s.row = append(s.row, s.figures.String()[from:])
}

func (s *Stream) nothing(n int) { s.row = append(s.row, make([]string, n)...) }

func (s *Stream) write(out []byte) ([]byte, error) {
	s.buf.Reset()
	if err := s.csv.Write(s.row); err != nil {
		return out, err
	}
	s.csv.Flush()
	return append(out, s.buf.Bytes()...), s.csv.Error()
}
