package lots

import (
	"fmt"
	"io"
	"iter"
	"strings"

	"wreckoner/evaluate/tabular"
)

// A Rejected is a row as it was, and what is wrong with it.
type Rejected struct {
	Raw      string
	Problems []tabular.Problem
	// List is which of several lists has the row, from 0.
	List int
}

// Beyond is the error of a list that goes on for longer than it may, at the row
// that is one too many.
func (l *Lots) Beyond(row ListRow, format string, args ...any) error {
	return tabular.Problem{File: l.table.File(), Sheet: l.table.Sheet(), Line: row.Line, Message: fmt.Sprintf(format,
		args...)}
}

// Each returns the lists that are read as one, in their order, of one list itself.
func (l *Lots) Each() []*Lots {
	if len(l.parts) > 0 {
		return l.parts
	}
	return []*Lots{l}
}

// File is the name of the list's file.
func (l *Lots) File() string { return l.table.File() }

// WriteRejects writes rejected rows of the list as they were, with the reason
// added.
func (l *Lots) WriteRejects(w io.Writer, rows iter.Seq2[Rejected, error]) error {
	delimiter := ','
	if c, ok := l.source.(*tabular.CSV); ok {
		delimiter = c.Delimiter()
	}
	if _, err := fmt.Fprintf(w, "%s%creason\n", l.table.HeaderRaw(), delimiter); err != nil {
		return err
	}
	for row, err := range rows {
		if err != nil {
			return err
		}
		why := tabular.Line([]string{row.reason()}, delimiter)
		if _, err := fmt.Fprintf(w, "%s%c%s\n", row.Raw, delimiter, why); err != nil {
			return err
		}
	}
	return nil
}

func (r *Rejected) reason() string {
	reasons := make([]string, len(r.Problems))
	for i, p := range r.Problems {
		if reasons[i] = p.Message; p.Column != "" {
			reasons[i] = p.Column + ": " + p.Message
		}
	}
	return strings.Join(reasons, "; ")
}
