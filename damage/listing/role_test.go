package listing

import (
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	gotoken "go/token"
	"os"
	"slices"
	"strings"
	"testing"
)

func codes(t *testing.T, rows []Row, texts []string) []string {
	t.Helper()
	l, err := New(rows)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, text := range texts {
		r := l.Read(text)
		out = append(out, fmt.Sprint(r.Code, r.Extras, r.Unknown))
	}
	return out
}

// A new synonym at the front of any row of the lexicon, the first row for its
// words or a further one, changes no code.
func TestASynonymAtTheFrontOfARowChangesNoCode(t *testing.T) {
	var texts []string
	for i, s := range samples(t) {
		if i%8 == 0 || !testing.Short() {
			texts = append(texts, s.text)
		}
	}
	rows := starterRows()
	want := codes(t, rows, texts)
	check := func(name string, rows []Row, texts, want []string) {
		for i, got := range codes(t, rows, texts) {
			if got != want[i] {
				t.Errorf("%s: %q reads %s, want %s", name, texts[i], got, want[i])
			}
		}
	}
	all := slices.Clone(rows)
	for i := range all {
		all[i].Words = fmt.Sprintf("zqx%d|%s", i, all[i].Words)
	}
	check("every row", all, texts, want)
	// One at a time, each against its share of the texts.
	const shares = 20
	for i := range rows {
		if testing.Short() && i%shares != 0 {
			continue
		}
		one := slices.Clone(rows)
		one[i].Words = fmt.Sprintf("zqx%d|%s", i, rows[i].Words)
		var some, wanted []string
		for j := i % shares; j < len(texts); j += shares {
			some, wanted = append(some, texts[j]), append(wanted, want[j])
		}
		check(fmt.Sprintf("line %d", rows[i].Line), one, some, wanted)
	}
}

// Where no row of its kind has a role, the lexicon is refused; the message names
// the role and a row to write, and with that row the lexicon is taken.
func TestALexiconThatLacksARoleIsRefused(t *testing.T) {
	for i, lost := range roles {
		if testing.Short() && i%4 > 0 {
			continue // a whole lexicon is read for each
		}
		var rows []Row
		for _, r := range starterRows() {
			if kindNamed(r.Kind)&lost.kinds != 0 {
				r.Role = strings.Join(slices.DeleteFunc(strings.Fields(r.Role), func(n string) bool { return n == lost.name }), " ")
				if kindNamed(r.Kind) == area && r.Role == "" {
					continue
				}
			}
			rows = append(rows, r)
		}
		_, err := New(rows)
		var fault *Fault
		if !errors.As(err, &fault) || fault.Column != "role" || !strings.Contains(fault.Problem, "has the role "+lost.name) ||
			!strings.Contains(fault.Problem, lost.row) {
			t.Errorf("without the role %s: %v", lost.name, err)
		}
	}
	_, err := New([]Row{{Words: "bonnet", Kind: "part", Means: "nose", Class: "c", Grade: "2"}})
	var fault *Fault
	if !errors.As(err, &fault) || !strings.Contains(fault.Problem, "no row has a role") ||
		!strings.Contains(fault.Problem, "kerb") {
		t.Errorf("without any role: %v", err)
	}
	if _, err := New(withRoles(t)); err != nil {
		t.Errorf("the rows that the messages advise: %v", err)
	}
}

// No code compares a word of the text, or the name of an entry, with a word of
// its own, or looks one up: what words mean is the lexicon's.
func TestNoCodeKnowsAWord(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	set, seen := gotoken.NewFileSet(), 0
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(set, f.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		seen++
		ast.Inspect(parsed, func(n ast.Node) bool {
			if knowsWord(n) {
				t.Errorf("%s: a word of the language in code: give it a role in lexicon.csv", set.Position(n.Pos()))
			}
			return true
		})
	}
	if seen < 10 {
		t.Errorf("looked at %d files", seen)
	}
}

// knowsWord reports whether the node compares a word with a literal, or looks
// one up.
func knowsWord(n ast.Node) bool {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		compares := n.Op == gotoken.EQL || n.Op == gotoken.NEQ
		return compares && (isWord(n.X) && literal(n.Y) || isWord(n.Y) && literal(n.X))
	case *ast.SwitchStmt:
		return n.Tag != nil && isWord(n.Tag)
	case *ast.IndexExpr:
		return selects(n.X, "entries") && literal(n.Index)
	case *ast.CallExpr:
		return selects(n.Fun, "lookup", "HasPrefix", "HasSuffix", "EqualFold") && slices.ContainsFunc(n.Args, literal)
	}
	return false
}

func isWord(e ast.Expr) bool { return selects(e, "word", "key", "text") }

func literal(e ast.Expr) bool {
	b, ok := e.(*ast.BasicLit)
	return ok && b.Kind == gotoken.STRING && b.Value != `""`
}

func selects(e ast.Expr, names ...string) bool {
	s, ok := e.(*ast.SelectorExpr)
	return ok && slices.Contains(names, s.Sel.Name)
}
