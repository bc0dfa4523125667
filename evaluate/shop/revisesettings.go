package shop

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"wreckoner/damage"
	"wreckoner/evaluate/money"
)

// A SettingEdit is a new value for a key of shop.toml: one number, or one for each class in the order of
// damage.Classes. Note is a comment that says where it comes from.
type SettingEdit struct {
	Key    string
	Values []float64
	Note   string
}

// text returns the value as it is written: one number where all are equal.
func (e *SettingEdit) text() string {
	if !slices.ContainsFunc(e.Values, func(x float64) bool { return x != e.Values[0] }) {
		return money.Plain(e.Values[0])
	}
	var parts []string
	for i, c := range damage.Classes() {
		parts = append(parts, c.Letter()+" = "+money.Plain(e.Values[i]))
	}
	return "{ " + strings.Join(parts, ", ") + " }"
}

// reviseSettings gives keys of shop.toml new values. A key that is there is changed in its line, and its comment stays;
// a new one is added ahead of the tables. Every other line stays as it is to the last byte.
func reviseSettings(name string, text []byte, edits []SettingEdit) ([]byte, error) {
	if len(edits) == 0 {
		return text, nil
	}
	lines := splitLines(text)
	for i := range edits {
		var err error
		if lines, err = setKey(name, lines, &edits[i]); err != nil {
			return nil, err
		}
	}
	out := bytes.Join(lines, nil)
	sr := settingsReader{file: name}
	if sr.read(string(out), nil); len(sr.problems) > 0 {
		return nil, sr.problems[0]
	}
	return out, nil
}

func setKey(name string, lines [][]byte, e *SettingEdit) ([][]byte, error) {
	tables := len(lines)
	for i, line := range lines {
		m := tableHead.FindSubmatch(line)
		if m != nil && string(m[1]) == e.Key {
			return nil, fmt.Errorf("%s:%d: [%s] is a table of its own, which learn cannot change; write it on one line, %s = %s",
				name, i+1, e.Key, e.Key, e.text())
		}
		if m != nil {
			tables = min(tables, i)
		}
	}
	for i, line := range lines[:tables] {
		key, rest, ok := bytes.Cut(line, []byte("="))
		if !ok || string(bytes.TrimSpace(key)) != e.Key {
			continue
		}
		content := bytes.TrimRight(rest, "\r\n")
		value, comment := cutComment(string(content))
		if !complete(value) {
			return nil, fmt.Errorf("%s:%d: the value of %s goes on to the next line; write it on one line", name, i+1, e.Key)
		}
		end := line[len(key)+1+len(content):]
		lines[i] = slices.Concat(key, []byte("= "+e.text()+noted(comment, e.Note)), end)
		return lines, nil
	}
	end := "\n"
	if len(lines) > 0 && bytes.HasSuffix(lines[0], []byte("\r\n")) {
		end = "\r\n"
	}
	fresh := []byte(e.Key + " = " + e.text() + noted("", e.Note) + end)
	at := lastKey(lines[:tables])
	if at > 0 && !bytes.HasSuffix(lines[at-1], []byte("\n")) {
		lines[at-1] = slices.Concat(lines[at-1], []byte(end))
	}
	return slices.Insert(lines, at, fresh), nil
}

// lastKey returns the place behind the last line that sets a key.
func lastKey(lines [][]byte) int {
	at := 0
	for i, line := range lines {
		if text := bytes.TrimSpace(line); len(text) > 0 && text[0] != '#' && bytes.ContainsRune(text, '=') {
			at = i + 1
		}
	}
	if at == 0 {
		return len(lines)
	}
	return at
}

// complete reports whether a value ends in its own line.
func complete(value string) bool {
	var probe map[string]any
	_, err := toml.Decode("x = "+value, &probe)
	return err == nil
}

// cutComment splits what is right of the equals sign into the value and its comment. The values that are learned hold
// no text, so that every # begins a comment.
func cutComment(text string) (value, comment string) {
	value, comment, _ = strings.Cut(text, "#")
	return strings.TrimSpace(value), strings.TrimSpace(comment)
}

// noted returns a comment that ends with the note in place of the note of an earlier lesson.
func noted(comment, note string) string {
	before, _, _ := strings.Cut(comment, "learned from ")
	if before = strings.TrimRight(before, "; "); before != "" {
		before += "; "
	}
	return " # " + before + note
}
