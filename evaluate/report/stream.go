package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"
	"strings"

	"wreckoner/evaluate"
)

// A Stream writes results one by one, without a rank: as a CSV row, or as one
// JSON object a line. It is not for concurrent use.
type Stream struct {
	json   bool
	guard  Guard
	fields []Field
	places [][]int // of each field in a lotJSON
	buf    bytes.Buffer
	csv    *csv.Writer
	enc    *json.Encoder
	lot    lotJSON
	row    []string
	// figures holds the text of a row's numbers: one piece of memory for all.
	figures strings.Builder
	scratch [32]byte
	longest int // row, in bytes
}

// NewStream returns a stream of JSON lines, or of CSV.
func NewStream(asJSON bool, guard Guard) *Stream {
	s := (&Stream{json: asJSON, guard: guard}).WithEvidence(false)
	s.csv = csv.NewWriter(&s.buf)
	s.enc = json.NewEncoder(&s.buf)
	s.enc.SetEscapeHTML(false)
	return s
}

// WithEvidence adds the columns of what evidence says, where there is evidence.
func (s *Stream) WithEvidence(evidence bool) *Stream {
	s.fields, s.places = fieldsOf(evidence), nil
	for _, f := range s.fields {
		s.places = append(s.places, placesOf(reflect.TypeFor[lotJSON]())[f.Name])
	}
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
	lot := reflect.ValueOf(&s.lot).Elem()
	for _, path := range s.places {
		switch v := cellAt(lot, path); v.Kind() {
		case reflect.Invalid:
			s.row = append(s.row, "")
		case reflect.Float64:
			s.figure(strconv.AppendFloat(s.scratch[:0], v.Float(), 'f', -1, 64))
		case reflect.Int:
			s.figure(strconv.AppendInt(s.scratch[:0], v.Int(), 10))
		case reflect.String:
			s.text(v.String())
		default:
			s.text(v.Interface().(fmt.Stringer).String())
		}
	}
	return s.write(out)
}

func (s *Stream) text(text string) {
	if bool(s.guard) && s.fields[len(s.row)].Text {
		text = harmless(text)
	}
	s.row = append(s.row, text)
}

func (s *Stream) figure(digits []byte) {
	from := s.figures.Len()
	s.figures.Write(digits)
	s.row = append(s.row, s.figures.String()[from:])
}

func (s *Stream) write(out []byte) ([]byte, error) {
	s.buf.Reset()
	if err := s.csv.Write(s.row); err != nil {
		return out, err
	}
	s.csv.Flush()
	return append(out, s.buf.Bytes()...), s.csv.Error()
}
