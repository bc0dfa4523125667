package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"
	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// A Style says what a terminal can show.
type Style struct {
	// Width in columns. Zero means 80.
	Width int
	// Colour allows escape sequences; without it none is written.
	Colour bool
}

// Width80 is the width that is assumed where none is known.
const Width80 = 80

// narrow counts every ambiguous character as one column, whatever the locale,
// so that output is the same everywhere.
var narrow = &runewidth.Condition{}

// Terminal writes the document for a terminal.
func (d *Document) Terminal(w io.Writer, style Style) error {
	if style.Width <= 0 {
		style.Width = Width80
	}
	var b strings.Builder
	for i, block := range d.Blocks {
		if i > 0 {
			b.WriteByte('\n')
		}
		if block.Heading != "" {
			head := wrap(block.Heading, style.Width)
			if style.Colour {
				head = "\x1b[1m" + head + "\x1b[0m"
			}
			b.WriteString(head + "\n")
		}
		if block.Text != "" {
			b.WriteString(wrap(block.Text, style.Width) + "\n")
		}
		for _, line := range block.Commands {
			b.WriteString("  " + line + "\n")
		}
		if block.Table != nil {
			if err := block.Table.terminal(&b, style); err != nil {
				return err
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// gap is what stands between two columns.
const gap = 2

func (t *Table) terminal(w io.Writer, style Style) error {
	heads := make([]string, len(t.Columns))
	aligns := make([]tw.Align, len(t.Columns))
	for i, c := range t.Columns {
		heads[i], aligns[i] = c.Head, tw.AlignLeft
		if c.Right {
			aligns[i] = tw.AlignRight
		}
	}
	widths := t.widths()
	t.fit(widths, style.Width)

	none := tw.Padding{Overwrite: true}
	right := tw.Padding{Right: strings.Repeat(" ", gap), Overwrite: true}
	pads := make([]tw.Padding, len(t.Columns))
	for i := range pads {
		if pads[i] = right; i == len(pads)-1 {
			pads[i] = none
		}
	}
	cells := tw.CellConfig{
		Formatting: tw.CellFormatting{AutoWrap: tw.WrapNone, AutoFormat: tw.Off},
		Alignment:  tw.CellAlignment{Global: tw.AlignLeft, PerColumn: aligns},
		Padding:    tw.CellPadding{Global: none, PerColumn: pads},
	}
	var b strings.Builder
	table := tablewriter.NewTable(&b,
		tablewriter.WithConfig(tablewriter.Config{Header: cells, Row: cells, Behavior: tw.Behavior{TrimSpace: tw.Off}}),
		tablewriter.WithEastAsian(tw.Off),
		tablewriter.WithRenderer(renderer.NewBlueprint(tw.Rendition{
			Borders: tw.Border{Left: tw.Off, Right: tw.Off, Top: tw.Off, Bottom: tw.Off},
			Symbols: tw.NewSymbols(tw.StyleLight),
			Settings: tw.Settings{Separators: tw.Separators{BetweenColumns: tw.Off, BetweenRows: tw.Off, ShowHeader: tw.Off},
				Lines: tw.Lines{ShowHeaderLine: tw.On, ShowTop: tw.Off, ShowBottom: tw.Off}},
		})),
	)
	table.Header(heads)
	for _, row := range t.Rows {
		if err := table.Append(t.fitted(row, widths)); err != nil {
			return fmt.Errorf("table: %w", err)
		}
	}
	if err := table.Render(); err != nil {
		return fmt.Errorf("table: %w", err)
	}
	for _, line := range t.over(strings.SplitAfter(b.String(), "\n"), widths, style.Width) {
		if _, err := fmt.Fprintln(w, strings.TrimRight(line, " \n")); err != nil {
			return err
		}
	}
	return nil
}

// widths returns how many columns of the terminal the widest line of each column of the table takes.
func (t *Table) widths() []int {
	widths := make([]int, len(t.Columns))
	measure := func(i int, cell string) {
		for line := range strings.SplitSeq(cell, "\n") {
			widths[i] = max(widths[i], narrow.StringWidth(line))
		}
	}
	for i, c := range t.Columns {
		measure(i, c.Head)
	}
	for _, row := range t.Rows {
		for i, cell := range row {
			measure(i, cell)
		}
	}
	return widths
}

// fitted returns the cells of a row, wrapped or cut to the widths.
func (t *Table) fitted(row []string, widths []int) []string {
	out := make([]string, len(row))
	for i, cell := range row {
		if t.Columns[i].Wraps {
			cell = wrap(cell, widths[i])
		}
		lines := strings.Split(cell, "\n")
		for k, line := range lines {
			lines[k] = shorten(line, widths[i])
		}
		out[i] = strings.Join(lines, "\n")
	}
	return out
}

// fit takes what is too much from the columns that give way, down to a few
// letters.
func (t *Table) fit(widths []int, total int) {
	over := gap*(len(widths)-1) - total
	for _, w := range widths {
		over += w
	}
	for over > 0 {
		widest := -1
		for i, c := range t.Columns {
			if (c.Gives || c.Wraps) && widths[i] > 6 && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return
		}
		widths[widest]--
		over--
	}
}

func shorten(line string, width int) string {
	if narrow.StringWidth(line) <= width {
		return line
	}
	return narrow.Truncate(line, width, "…")
}

// wrap breaks text at spaces. Lines that follow a line starting with spaces are
// indented as far.
func wrap(text string, width int) string {
	var out []string
	for line := range strings.SplitSeq(text, "\n") {
		if narrow.StringWidth(line) <= width {
			out = append(out, line)
			continue
		}
		words := strings.Fields(line)
		indent := strings.Repeat(" ", len(line)-len(strings.TrimLeft(line, " ")))
		current := ""
		for _, word := range words {
			switch {
			case current == "":
				current = indent + word
			case narrow.StringWidth(current)+1+narrow.StringWidth(word) > width:
				out = append(out, current)
				current = indent + word
			default:
				current += " " + word
			}
		}
		out = append(out, current)
	}
	return strings.Join(out, "\n")
}
