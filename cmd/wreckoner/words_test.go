package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// prose returns the texts of a Go file that can be messages: every string of more than one word, but for import paths,
// tags, patterns, names of columns and what a programmer's mistake prints.
func prose(t *testing.T, file, source string) map[int]string {
	t.Helper()
	files := token.NewFileSet()
	tree, err := parser.ParseFile(files, file, source, 0)
	if err != nil {
		t.Fatal(err)
	}
	texts := map[int]string{}
	ast.Inspect(tree, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.ImportSpec:
			return false
		case *ast.Field:
			n.Tag = nil
		case *ast.CallExpr:
			switch f := n.Fun.(type) {
			case *ast.Ident:
				return f.Name != "panic" && f.Name != "columnsOf"
			case *ast.SelectorExpr:
				return f.Sel.Name != "MustCompile"
			}
		case *ast.BasicLit:
			if n.Kind != token.STRING {
				break
			}
			text, err := strconv.Unquote(n.Value)
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(strings.TrimSpace(text), " ") {
				at := files.Position(n.Pos()).Line
				texts[at] += text
			}
		}
		return true
	})
	return texts
}

// Every message, template, help text and page for people keeps to the glossary.
func TestTextsKeepToTheGlossary(t *testing.T) {
	seen := 0
	check := func(file string, line int, text string) {
		seen++
		for _, f := range wordFaults(file, text) {
			t.Errorf("%s:%d: %s", file, line, f)
		}
	}
	tags := regexp.MustCompile(`(?s)\{\{.*?\}\}|<[^>]*>`)
	texts(t, func(file, text string) {
		switch {
		case strings.HasPrefix(file, "testdata/"), strings.Contains(file, "/testdata/"):
		case strings.HasSuffix(file, "_test.go"):
		case strings.HasSuffix(file, ".go"):
			for line, s := range prose(t, file, text) {
				check(file, line, s)
			}
		case strings.HasSuffix(file, ".tmpl"):
			for i, line := range strings.Split(text, "\n") {
				check(file, i+1, tags.ReplaceAllString(line, " "))
			}
		case file == "README.md", path.Dir(file) == "cmd/wreckoner/topics":
			for i, line := range strings.Split(text, "\n") {
				check(file, i+1, line)
			}
		}
	})
	if seen < 1000 {
		t.Errorf("only %d texts read", seen)
	}
}
