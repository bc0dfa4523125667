package main

import (
	"bytes"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"unicode/utf8"
)

// A textFile is a file of the repository: its name from the root, and what it says.
type textFile struct{ name, text string }

// textFiles reads every text file of the repository, once.
var textFiles = sync.OnceValues(func() (all []textFile, err error) {
	root := os.DirFS("../..")
	err = fs.WalkDir(root, ".", func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if d.Name() == ".git" || d.Name() == ".cache" {
				return fs.SkipDir
			}
			return nil
		}
		if !d.Type().IsRegular() {
			return nil
		}
		data, err := fs.ReadFile(root, file)
		if err != nil {
			return err
		}
		if bytes.IndexByte(data, 0) < 0 && utf8.Valid(data) {
			all = append(all, textFile{file, string(data)})
		}
		return nil
	})
	return all, err
})

// texts calls visit for every text file of the repository, with its name from the root.
func texts(t *testing.T, visit func(file, text string)) {
	t.Helper()
	all, err := textFiles()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 200 {
		t.Fatalf("only %d text files seen", len(all))
	}
	for _, f := range all {
		visit(f.name, f.text)
	}
}

// numbered finds a chapter's heading, a statement's number at its beginning, and an
// equation's at the end of its line.
var numbered = regexp.MustCompile(`(?m)^## (\d+) |^\*\*(\d+\.\d+)[ *]|^ {4}.*\((\d+\.\d+)\)$`)

// numbersOf returns the chapters ("3") and statements ("3.2") of METHOD.md, in the
// order of the page.
func numbersOf(method string) []string {
	var numbers []string
	for _, m := range numbered.FindAllStringSubmatch(method, -1) {
		numbers = append(numbers, m[1]+m[2]+m[3])
	}
	return numbers
}

// cited returns the numbers that a text cites as "METHOD.md 3.2", "METHOD.md 4.1 to 4.7",
// "METHOD.md 5, 6 and 8.1" or "METHOD.md, chapter 5".
func cited(text string) []string {
	const number = `\d+(?:\.\d+)?`
	list := regexp.MustCompile(`METHOD\.md\W{0,8}(?:chapters? |equations? )?(` + number + `(?:(?:, | and | to )` +
		number + `)*)`)
	var out []string
	for _, m := range list.FindAllStringSubmatch(strings.Join(strings.Fields(text), " "), -1) {
		out = append(out, regexp.MustCompile(number).FindAllString(m[1], -1)...)
	}
	return out
}

func TestCitedReadsLists(t *testing.T) {
	text := "see METHOD.md 3.2, and (METHOD.md 4.1 to 4.7); METHOD.md chapters 5, 6 and 8.1. METHOD.md says 9.9."
	if got, want := cited(text), []string{"3.2", "4.1", "4.7", "5", "6", "8.1"}; !slices.Equal(got, want) {
		t.Errorf("cited %v, want %v", got, want)
	}
}

func readMethod(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile("../../evaluate/METHOD.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// Chapters rise, and the statements of each are numbered from 1 without a gap.
func TestMethodIsNumberedInOrder(t *testing.T) {
	chapter, statement := 0, 0
	for _, n := range numbersOf(readMethod(t)) {
		c, s, isStatement := strings.Cut(n, ".")
		if !isStatement {
			at, err := strconv.Atoi(c)
			if err != nil || at <= chapter {
				t.Errorf("chapter %s comes after chapter %d", n, chapter)
			}
			chapter, statement = at, 0
			continue
		}
		statement++
		if want := strconv.Itoa(chapter) + "." + strconv.Itoa(statement); c+"."+s != want {
			t.Errorf("statement %s stands where %s is due", n, want)
		}
	}
	if chapter < 20 {
		t.Errorf("the last chapter is %d", chapter)
	}
}

// What METHOD.md says of its own statements, as "(5.3, 9.1)" or "by 3.2", is there.
func TestMethodRefersToItself(t *testing.T) {
	method := readMethod(t)
	numbers := numbersOf(method)
	var found []string
	for _, m := range regexp.MustCompile(`[(]([1-9]\d?\.\d+(?:, [1-9]\d?\.\d+)*)[)]`).FindAllStringSubmatch(method, -1) {
		found = append(found, strings.Split(m[1], ", ")...)
	}
	for _, m := range regexp.MustCompile(`\b(?:of|by|in)\s([1-9]\d?\.\d{1,2})\b`).FindAllStringSubmatch(method, -1) {
		found = append(found, m[1])
	}
	for _, n := range found {
		if !slices.Contains(numbers, n) {
			t.Errorf("METHOD.md refers to %s, which it does not have", n)
		}
	}
	if len(found) < 20 {
		t.Errorf("only %d references seen", len(found))
	}
}

func TestCitedNumbersAreInMethod(t *testing.T) {
	numbers := numbersOf(readMethod(t))
	seen := 0
	texts(t, func(file, text string) {
		if file == "cmd/wreckoner/docs_test.go" || file == "evaluate/METHOD.md" || !strings.Contains(text, "METHOD.md") {
			return
		}
		if strings.HasSuffix(file, ".go") { // a citation may go over two comment lines
			text = regexp.MustCompile(`\n\s*//`).ReplaceAllString(text, " ")
		}
		for _, n := range cited(text) {
			if seen++; !slices.Contains(numbers, n) {
				t.Errorf("%s cites METHOD.md %s, which is not there", file, n)
			}
		}
	})
	if seen < 10 {
		t.Errorf("only %d citations seen", seen)
	}
}

// Nothing speaks of a page that is not in the repository. Names with a slash are
// looked up from the file and from the root, others anywhere.
func TestPagesSpokenOfAreHere(t *testing.T) {
	pages := map[string]bool{}
	type mention struct{ file, page string }
	var mentions []mention
	name := regexp.MustCompile(`[A-Za-z0-9_./-]*[A-Za-z0-9_-]\.md\b`)
	texts(t, func(file, text string) {
		if strings.HasSuffix(file, ".md") {
			pages[file], pages[path.Base(file)] = true, true
		}
		if strings.HasPrefix(file, "cmd/wreckoner/testdata/script/") || file == "cmd/wreckoner/docs_test.go" {
			return // scripts write Markdown of their own
		}
		if !strings.Contains(text, ".md") {
			return
		}
		for _, m := range name.FindAllString(text, -1) {
			mentions = append(mentions, mention{file, m})
		}
	})
	for _, m := range mentions {
		page := strings.TrimPrefix(m.page, "./")
		if !pages[page] && !pages[path.Join(path.Dir(m.file), page)] {
			t.Errorf("%s speaks of %s, which is not in the repository", m.file, m.page)
		}
	}
	if len(mentions) < 20 {
		t.Errorf("only %d mentions seen", len(mentions))
	}
}

// Pages for people are at most 120 columns wide.
func TestPagesAreNarrow(t *testing.T) {
	for _, file := range []string{"DEVELOPERS.md", "evaluate/METHOD.md", "evaluate/PERFORMANCE.md",
		"testdata/yardstick/README.md"} {
		data, err := os.ReadFile("../../" + file)
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(data), "\n") {
			if n := utf8.RuneCountInString(line); n > 120 {
				t.Errorf("%s:%d: %d columns; break the line at 120", file, i+1, n)
			}
		}
	}
}
