package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// layers is the shape of the program: a package imports only packages of lower
// layers, or those within its own folder. DEVELOPERS.md draws it.
var layers = [][]string{
	{"damage"},
	{"evaluate/stats", "evaluate/money"},
	{"evaluate/prices"},
	{"damage/costs", "damage/listing", "evaluate/tabular"},
	{"evaluate/shop"},
	{"evaluate/deal", "evaluate/bid"},
	{"evaluate/simulate", "evaluate/convolve", "evaluate/source", "evaluate/plan", "evaluate/learn"},
	{"evaluate"},
	{"evaluate/lots"},
	{"evaluate/probe", "evaluate/build"},
	{"evaluate/evidence"},
	{"evaluate/sale", "evaluate/floor"},
	{"evaluate/year"},
	{"evaluate/report/draw", "evaluate/report/browsertest"},
	{"evaluate/report"},
	{"cmd/wreckoner"},
}

// layer returns the number of a package's layer and the listed name that it
// goes by; a folder below one that is listed belongs to it.
func layer(dir string) (best int, by string) {
	best, bestLen := -1, -1
	for i, names := range layers {
		for _, name := range names {
			if (dir == name || strings.HasPrefix(dir, name+"/")) && len(name) > bestLen {
				best, bestLen, by = i, len(name), name
			}
		}
	}
	return best, by
}

func TestImportsPointDown(t *testing.T) {
	root := os.DirFS("../..")
	seen := 0
	err := fs.WalkDir(root, ".", func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == "testdata" || strings.HasPrefix(d.Name(), ".") && file != ".") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return nil
		}
		text, err := fs.ReadFile(root, file)
		if err != nil {
			return err
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), file, text, parser.ImportsOnly)
		if err != nil {
			return err
		}
		dir := path.Dir(file)
		from, family := layer(dir)
		if from < 0 {
			t.Errorf("%s: the package has no layer; say where it belongs", file)
		}
		for _, spec := range parsed.Imports {
			name, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			to, ours := strings.CutPrefix(name, "wreckoner/")
			if !ours {
				if dir == "damage" && strings.Contains(name, ".") {
					t.Errorf("%s imports %s: the vocabulary needs the standard library only", file, name)
				}
				continue
			}
			seen++
			if at, other := layer(to); at > from || at == from && other != family {
				t.Errorf("%s imports %s, which is not below it", file, to)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 30 {
		t.Errorf("only %d imports seen", seen)
	}
}

// Only main ends the process.
func TestOnlyMainExits(t *testing.T) {
	root := os.DirFS("../..")
	var found []string
	err := fs.WalkDir(root, ".", func(file string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && (d.Name() == "testdata" || d.Name() == ".ci") {
			return fs.SkipDir
		}
		if err != nil || d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return err
		}
		text, err := fs.ReadFile(root, file)
		if strings.Contains(string(text), "os.Exit(") {
			found = append(found, file)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(found, []string{"cmd/wreckoner/main.go"}) {
		t.Errorf("os.Exit in %v", found)
	}
}
