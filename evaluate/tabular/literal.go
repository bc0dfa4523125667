package tabular

import "strings"

// divide splits the text of a group of lines. Where its quotes are marks the record is the first line alone.
func (s *CSV) divide(group []line) (used []line, text string, cells []string, err error) {
	text = join(group)
	if cells, err = s.cells(text); s.loose && (err != nil || len(cells) != s.headers) {
		if literal, ok := s.asMarks(group[0].text); ok {
			return group[:1], group[0].text, literal, nil
		}
	}
	return group, text, cells, err
}

// asMarks splits a line whose quotes are no quotes but marks, where it then has a cell for each header.
func (s *CSV) asMarks(text string) (cells []string, ok bool) {
	if s.headers == 0 || !strings.Contains(text, `"`) {
		return nil, false
	}
	cells, ok = s.literal(text)
	return cells, ok && len(cells) == s.headers
}

// literal splits a line in which quotes are marks for inches, dittos or words: a quote within a cell that does not
// start with one, and a cell that is nothing but one, are as they are. ok is false where a cell in quotes has no end.
func (s *CSV) literal(text string) (cells []string, ok bool) {
	for {
		rest := strings.TrimLeft(text, " ")
		if len(rest) < 2 || rest[0] != '"' || rest[1] == s.comma {
			cell, after, more := strings.Cut(text, string(s.comma))
			if cells = append(cells, cell); !more {
				return cells, true
			}
			text = after
			continue
		}
		cell, after, ok := quoted(rest[1:])
		switch {
		case !ok, after != "" && after[0] != s.comma:
			return nil, false
		case after == "":
			return append(cells, cell), true
		}
		cells, text = append(cells, cell), after[1:]
	}
}

// quoted reads a cell from behind its quote to the one that ends it, and returns what comes after.
func quoted(text string) (cell, after string, ok bool) {
	var b strings.Builder
	for {
		part, rest, found := strings.Cut(text, `"`)
		b.WriteString(part)
		if !found {
			return "", "", false
		}
		if !strings.HasPrefix(rest, `"`) {
			return b.String(), strings.TrimLeft(rest, " "), true
		}
		b.WriteByte('"')
		text = rest[1:]
	}
}
