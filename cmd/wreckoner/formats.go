package main

import (
	"io"
	"path/filepath"
	"strings"

	"wreckoner/evaluate/report"
)

// written is a result that can be written in every format.
type written interface {
	Document(width int) *report.Document
	Records() *report.Records
	JSON(io.Writer) error
}

// format names how results are written.
type format string

const (
	asTable    format = "table"
	asCSV      format = "csv"
	asJSON     format = "json"
	asMarkdown format = "markdown"
	asXLSX     format = "xlsx"
)

// outputFormat is one way to write a result: its name, the ending of a file's name that
// asks for it, and its writer. A new format is a new row of formats.
type outputFormat struct {
	name   format
	ending string
	write  func(o *output, r written, w io.Writer) error
}

var formats = []outputFormat{
	{asTable, "", func(o *output, r written, w io.Writer) error {
		style := o.style()
		return r.Document(style.Width).Terminal(w, style)
	}},
	{asCSV, ".csv", func(o *output, r written, w io.Writer) error { return r.Records().CSV(w, report.Guard(!o.raw)) }},
	{asJSON, ".json", func(_ *output, r written, w io.Writer) error { return r.JSON(w) }},
	{asMarkdown, ".md", func(_ *output, r written, w io.Writer) error {
		return r.Document(report.Width80).Markdown(w)
	}},
	{asXLSX, ".xlsx", func(o *output, r written, w io.Writer) error {
		return r.Records().Workbook(w, o.shared.Name())
	}},
}

// formatNames lists the formats: "table, csv, ...".
func formatNames() string {
	names := make([]string, len(formats))
	for i, x := range formats {
		names[i] = string(x.name)
	}
	return strings.Join(names, ", ")
}

// formatOf is the format that goes with a file's name.
func formatOf(file string) (format, bool) {
	ending := strings.ToLower(filepath.Ext(file))
	for _, x := range formats {
		if ending != "" && x.ending == ending {
			return x.name, true
		}
	}
	return "", false
}
