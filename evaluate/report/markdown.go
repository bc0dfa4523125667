package report

import (
	"io"
	"strings"
)

// Markdown writes the document as GitHub-flavoured Markdown.
func (d *Document) Markdown(w io.Writer) error {
	var b strings.Builder
	for i, block := range d.Blocks {
		if i > 0 {
			b.WriteByte('\n')
		}
		if block.Heading != "" {
			b.WriteString("## " + escape(block.Heading) + "\n\n")
		}
		if block.Text != "" {
			for line := range strings.SplitSeq(block.Text, "\n") {
				b.WriteString(escape(strings.TrimSpace(line)) + "  \n")
			}
		}
		if len(block.Commands) > 0 {
			b.WriteString("\n    " + strings.Join(block.Commands, "\n    ") + "\n")
		}
		if block.Table != nil {
			block.Table.markdown(&b)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func (t *Table) markdown(b *strings.Builder) {
	t = t.beside()
	for _, c := range t.Columns {
		b.WriteString("| " + cell(c.Head) + " ")
	}
	b.WriteString("|\n")
	for _, c := range t.Columns {
		if c.Right {
			b.WriteString("| ---: ")
		} else {
			b.WriteString("| --- ")
		}
	}
	b.WriteString("|\n")
	for _, row := range t.Rows {
		for _, text := range row {
			b.WriteString("| " + cell(text) + " ")
		}
		b.WriteString("|\n")
	}
}

// cell escapes a text of several lines for one cell of a table.
func cell(text string) string {
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		lines[i] = escape(strings.TrimSpace(line))
	}
	return strings.Join(lines, "<br>")
}

var escape = strings.NewReplacer(
	`\`, `\\`, `|`, `\|`, "`", "\\`", `*`, `\*`, `_`, `\_`, `[`, `\[`, `]`, `\]`, `<`, `&lt;`, `>`, `&gt;`, `&`, `&amp;`,
	`#`, `\#`, `~`, `\~`,
).Replace
