package page

import (
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"html/template"
	"io"
	"regexp"
	"strings"
	"sync"

	"wreckoner/evaluate/report"
	"wreckoner/evaluate/report/draw"
)

//go:embed *.tmpl
var files embed.FS

//go:embed style.css
var ownStyle string

//go:embed script.js
var script string

var style = draw.CSS + ownStyle

// policy lets the page use its own style sheet and script, and nothing else.
var policy = sync.OnceValue(func() string { return policyOf(style, script) })

func policyOf(style, script string) string {
	return "default-src 'none'; style-src '" + digest(style) + "'; script-src '" + digest(script) +
		"'; base-uri 'none'; form-action 'none'"
}

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "sha256-" + base64.StdEncoding.EncodeToString(sum[:])
}

var indent = regexp.MustCompile(`(?m)^[ \t]+|\n+\z`)

// pages are the templates, without the indentation that they are read with. They are read when the first page is
// written: most runs write none.
var pages = sync.OnceValue(func() *template.Template {
	t := template.New("")
	entries, err := files.ReadDir(".")
	if err != nil {
		panic(err)
	}
	for _, e := range entries {
		text, err := files.ReadFile(e.Name())
		if err != nil {
			panic(err)
		}
		template.Must(t.Parse(indent.ReplaceAllString(string(text), "")))
	}
	return t
})

// frame is what all pages have.
type frame struct {
	// Kind says what the page is, Title of what, Lead how it stands.
	Kind, Title, Lead string
	// Made says with what it was made.
	Made string
}

// Policy, Style, Script and Caution are for the template.
func (frame) Policy() string      { return policy() }
func (frame) Style() template.CSS { return template.CSS(style) }
func (frame) Script() template.JS { return template.JS(script) }
func (frame) Caution() string     { return report.Caution }
func (f frame) Head() string      { return f.Kind + ": " + f.Title }
func (f frame) Class() string     { return strings.ToLower(f.Kind) }

func write(w io.Writer, name string, data any) error { return pages().ExecuteTemplate(w, name, data) }
