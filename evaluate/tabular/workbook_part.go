package tabular

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// parts are the files in the archive, by lower-case name.
type parts map[string]*zip.File

func newParts(z *zip.Reader) parts {
	p := parts{}
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/"))
		if _, twice := p[name]; !twice {
			p[name] = f
		}
	}
	return p
}

func (p parts) has(name string) bool { return p[strings.ToLower(name)] != nil }

// open returns a reader of a part's XML that fails beyond the limit, whatever the
// archive says of its size.
func (p parts) open(name string, limit int64) (*reader, error) {
	f := p[strings.ToLower(name)]
	if f == nil {
		return nil, fmt.Errorf("it has no part %q; open and save it in a spreadsheet program", name)
	}
	if f.UncompressedSize64 > uint64(limit) {
		return nil, tooLarge(name, limit)
	}
	body, err := f.Open()
	if err != nil {
		return nil, fmt.Errorf("part %q: %w", name, err)
	}
	bounded := &bounded{r: body, left: limit, limit: limit, name: name}
	d := xml.NewDecoder(bounded)
	d.CharsetReader = func(charset string, in io.Reader) (io.Reader, error) {
		return nil, fmt.Errorf("is in %q; UTF-8 is read", charset)
	}
	return &reader{part: name, body: body, decoder: d}, nil
}

// A limitError says that a part is beyond what is read.
type limitError string

func (e limitError) Error() string { return string(e) }

func tooLarge(name string, limit int64) error {
	return limitError(fmt.Sprintf("part %q unpacks to more than %d MiB, as a zip bomb does; save the list as CSV", name,
		limit>>20))
}

func tooLong(name string) error {
	return limitError(fmt.Sprintf("part %q has a cell of more than %d MiB; cut it down", name, mostTag>>20))
}

// bounded ends with an error beyond a number of bytes, or where no tag comes for
// too long: the decoder holds what is between two tags.
type bounded struct {
	r     io.Reader
	left  int64
	limit int64
	since int
	name  string
}

func (b *bounded) Read(p []byte) (int, error) {
	n, err := b.r.Read(p[:min(len(p), 1<<15)])
	if b.left -= int64(n); b.left < 0 {
		return 0, tooLarge(b.name, b.limit)
	}
	if i := bytes.LastIndexByte(p[:n], '<'); i >= 0 {
		b.since = n - i
	} else {
		b.since += n
	}
	if b.since > mostTag {
		return 0, tooLong(b.name)
	}
	return n, err
}

// reader walks through the tags of one part.
type reader struct {
	part    string
	body    io.Closer
	decoder *xml.Decoder
	depth   int
}

// next returns the next token; io.EOF after a document that is whole.
func (r *reader) next() (xml.Token, error) {
	t, err := r.decoder.Token()
	if err == io.EOF {
		if closed := r.body.Close(); closed != nil {
			return nil, fmt.Errorf("part %q: %w", r.part, closed)
		}
		return nil, io.EOF
	}
	if err != nil {
		return nil, r.fault(err)
	}
	switch t.(type) {
	case xml.StartElement:
		if r.depth++; r.depth > mostDepth {
			return nil, fmt.Errorf("part %q nests more than %d elements", r.part, mostDepth)
		}
	case xml.EndElement:
		r.depth--
	}
	return t, nil
}

func (r *reader) fault(err error) error {
	var syntax *xml.SyntaxError
	var limit limitError
	if errors.As(err, &limit) {
		return err
	}
	if errors.As(err, &syntax) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, zip.ErrFormat) ||
		errors.Is(err, zip.ErrChecksum) {
		return fmt.Errorf("part %q is cut short or damaged (%w)", r.part, err)
	}
	return fmt.Errorf("part %q: %w", r.part, err)
}

// each calls start at every element, to the end of the part.
func (r *reader) each(start func(e xml.StartElement) error) error {
	for {
		t, err := r.next()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := t.(xml.StartElement); ok {
			if err := start(e); err != nil {
				return err
			}
		}
	}
}

// text returns the text up to the end of the element that has just begun. Only
// the text within elements called only counts, unless only is "".
func (r *reader) text(only string) (string, error) {
	var b strings.Builder
	depth, inside, phonetic := 1, only == "", 0
	for depth > 0 {
		t, err := r.next()
		if err != nil {
			if err == io.EOF {
				err = r.fault(io.ErrUnexpectedEOF)
			}
			return "", err
		}
		switch t := t.(type) {
		case xml.StartElement:
			depth++
			if t.Name.Local == "rPh" { // how the text is pronounced
				phonetic = depth
			}
			inside = only == "" || t.Name.Local == only && phonetic == 0
		case xml.EndElement:
			if depth == phonetic {
				phonetic = 0
			}
			depth--
			inside = only == ""
		case xml.CharData:
			if inside {
				if b.Len()+len(t) > mostTag {
					return "", tooLong(r.part)
				}
				b.Write(t)
			}
		}
	}
	return b.String(), nil
}

// attribute returns an attribute's value, "" where it is not there.
func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name && a.Name.Space != relationshipSpace && a.Name.Space != strictRelationshipSpace {
			return a.Value
		}
	}
	return ""
}

const (
	relationshipSpace       = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	strictRelationshipSpace = "http://purl.oclc.org/ooxml/officeDocument/relationships"
)

// relation returns the relationship that an element names.
func relation(e xml.StartElement) string {
	for _, a := range e.Attr {
		if a.Name.Local == "id" && (a.Name.Space == relationshipSpace || a.Name.Space == strictRelationshipSpace) {
			return a.Value
		}
	}
	return ""
}

// relations returns the targets of a part's relationships, by id, and by the last
// word of their type.
func (p parts) relations(of string) (byID, byType map[string]string, err error) {
	byID, byType = map[string]string{}, map[string]string{}
	dir, base := path.Split(of)
	name := dir + "_rels/" + base + ".rels"
	if !p.has(name) {
		return byID, byType, nil
	}
	r, err := p.open(name, mostPart)
	if err != nil {
		return nil, nil, err
	}
	err = r.each(func(e xml.StartElement) error {
		if e.Name.Local != "Relationship" || attribute(e, "TargetMode") == "External" {
			return nil
		}
		target := strings.ReplaceAll(attribute(e, "Target"), `\`, "/")
		if !strings.HasPrefix(target, "/") {
			target = path.Join(dir, target)
		}
		target = strings.TrimPrefix(path.Clean(target), "/")
		byID[attribute(e, "Id")] = target
		byType[path.Base(attribute(e, "Type"))] = target
		return nil
	})
	return byID, byType, err
}
