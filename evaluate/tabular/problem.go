package tabular

import (
	"fmt"
	"strings"
	"unicode/utf8"
)

// A Problem is a fault in a file: where, what was found, and what to write
// instead.
type Problem struct {
	File string `json:"file"`
	// Sheet is the name of the sheet; empty where the file is no spreadsheet.
	Sheet string `json:"sheet,omitempty"`
	// Line is the line, as an editor counts, where the record starts, or the
	// sheet's row. Zero: the file as a whole.
	Line int `json:"line"`
	// Column is the header as the file spells it. Empty: the whole row.
	Column string `json:"column"`
	// Text is what was found.
	Text string `json:"text"`
	// Message says what is wrong and what to write instead.
	Message string `json:"problem"`
	// Shared says that the message holds for every row with that text: a person reads it once.
	Shared bool `json:"-"`
}

// Error returns the problem in one line that is safe to print, such as
//
//	lots.csv:17: value: "12OO" is not an amount; write 1200 or 1,200.00
//	lots.xlsx: sheet Lots, row 5: value: is blank; write an amount
func (p Problem) Error() string {
	var parts []string
	switch {
	case p.Sheet != "" && p.Line > 0:
		parts = append(parts, p.File, fmt.Sprintf("sheet %s, row %d", p.Sheet, p.Line))
	case p.Sheet != "":
		parts = append(parts, p.File, "sheet "+p.Sheet)
	case p.File != "" && p.Line > 0:
		parts = append(parts, fmt.Sprintf("%s:%d", p.File, p.Line))
	case p.Line > 0:
		parts = append(parts, fmt.Sprintf("line %d", p.Line))
	default:
		parts = append(parts, p.File)
	}
	parts = append(parts, p.Column, p.Message)
	kept := parts[:0]
	for _, part := range parts {
		if part != "" {
			kept = append(kept, part)
		}
	}
	return Sanitise(strings.Join(kept, ": "))
}

// Problems are the faults that keep a file from being read at all.
type Problems []Problem

// Error returns the problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lets errors.As find each Problem.
func (ps Problems) Unwrap() []error {
	errs := make([]error, len(ps))
	for i, p := range ps {
		errs[i] = p
	}
	return errs
}

// excerpt cuts a text to what fits into a message.
func excerpt(text string) string { return Shorten(text, 80) }

// Shorten cuts a text to most characters, at least 1, the last of them an ellipsis where
// something is left out.
func Shorten(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text[:min(len(text), 4*most)])[:most-1]) + "…"
}
