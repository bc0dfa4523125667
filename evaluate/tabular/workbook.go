package tabular

import (
	"archive/zip"
	"encoding/xml"
	"errors"
	"fmt"
	"strings"
)

// book is what a workbook's sheets share.
type book struct {
	parts
	tabs   []tab
	texts  []string
	styles []kind // of each cell format
	from   int    // day 0 of dates: 1900 or 1904
}

// tab is one sheet.
type tab struct {
	name, part string
	hidden     bool
}

func openBook(z *zip.Reader) (*book, error) {
	b := &book{parts: newParts(z), from: 1900}
	_, byType, err := b.relations("")
	if err != nil {
		return nil, err
	}
	main := byType["officeDocument"]
	if main == "" {
		main = "xl/workbook.xml"
	}
	switch {
	case b.has("mimetype") && !b.has(main), b.has("content.xml"):
		return nil, errors.New("it is an OpenDocument file; save the list as .xlsx or CSV")
	case b.has("xl/workbook.bin"):
		return nil, errors.New("it is a binary workbook (.xlsb); save the list as .xlsx or CSV")
	case !b.has(main):
		return nil, errors.New("it is a zip archive without a workbook in it; if the list is inside, unpack it first")
	}
	byID, byType, err := b.relations(main)
	if err != nil {
		return nil, err
	}
	if err := b.readTabs(main, byID); err != nil {
		return nil, err
	}
	if part := byType["sharedStrings"]; part != "" {
		if err := b.readTexts(part); err != nil {
			return nil, err
		}
	}
	if part := byType["styles"]; part != "" {
		if err := b.readStyles(part); err != nil {
			return nil, err
		}
	}
	return b, nil
}

func (b *book) readTabs(main string, byID map[string]string) error {
	r, err := b.open(main, mostPart)
	if err != nil {
		return err
	}
	return r.each(func(e xml.StartElement) error {
		switch e.Name.Local {
		case "workbookPr":
			if v := attribute(e, "date1904"); v == "1" || v == "true" {
				b.from = 1904
			}
		case "sheet":
			part := byID[relation(e)]
			if part == "" || strings.Contains(strings.ToLower(part), "chartsheets/") {
				return nil
			}
			state := attribute(e, "state")
			b.tabs = append(b.tabs, tab{attribute(e, "name"), part, state == "hidden" || state == "veryHidden"})
		}
		return nil
	})
}

func (b *book) readTexts(part string) error {
	r, err := b.open(part, mostPart)
	if err != nil {
		return err
	}
	return r.each(func(e xml.StartElement) error {
		if e.Name.Local != "si" {
			return nil
		}
		if len(b.texts) == mostTexts {
			return fmt.Errorf("part %q has more than %d texts; save the list as CSV", part, mostTexts)
		}
		text, err := r.text("t")
		b.texts = append(b.texts, unescape(text))
		return err
	})
}

// pick returns the sheet of a name; "" is the first that is not hidden.
func (b *book) pick(name string) (tab, error) {
	if len(b.tabs) == 0 {
		return tab{}, errors.New("the workbook has no sheet of rows")
	}
	if name == "" {
		for _, t := range b.tabs {
			if !t.hidden {
				return t, nil
			}
		}
		return b.tabs[0], nil
	}
	var names []string
	for _, t := range b.tabs {
		if strings.EqualFold(strings.TrimSpace(t.name), strings.TrimSpace(name)) {
			return t, nil
		}
		names = append(names, t.name)
	}
	if near := Nearest(name, names); near != "" {
		return tab{}, fmt.Errorf("there is no sheet %q; did you mean --sheet %q?", name, near)
	}
	return tab{}, fmt.Errorf("there is no sheet %q; the sheets are %s", name, strings.Join(names, ", "))
}

// others returns the names of the sheets that are not hidden, but for one.
func (b *book) others(but tab) []string {
	var names []string
	for _, t := range b.tabs {
		if !t.hidden && t != but {
			names = append(names, t.name)
		}
	}
	return names
}
