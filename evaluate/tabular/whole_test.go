package tabular_test

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"

	"wreckoner/evaluate/tabular"
)

func write(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// only fails unless the folder holds just these files.
func only(t *testing.T, dir string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, " ") != strings.Join(names, " ") {
		t.Errorf("the folder holds %q, want %q", got, names)
	}
}

func content(t *testing.T, path, want string) {
	t.Helper()
	got, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != want {
		t.Errorf("%s holds %.40q, want %.40q", filepath.Base(path), got, want)
	}
}

func TestWrite(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	for _, text := range []string{"first\n", strings.Repeat("more than one buffer\n", 20_000), ""} {
		if err := tabular.Write(path, write(text)); err != nil {
			t.Fatal(err)
		}
		content(t, path, text)
		only(t, dir, "out.csv")
	}
}

func TestNothingShowsBeforeCommit(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := tabular.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write(bytes.Repeat([]byte("new"), 100_000)); err != nil {
		t.Fatal(err)
	}
	content(t, path, "old")
	if err := f.Commit(); err != nil {
		t.Fatal(err)
	}
	content(t, path, strings.Repeat("new", 100_000))
	if err := f.Abandon(); err != nil {
		t.Errorf("Abandon after Commit: %v", err)
	}
	content(t, path, strings.Repeat("new", 100_000))
	if _, err := f.Write([]byte("x")); err == nil {
		t.Error("Write after Commit gave no error")
	}
	if err := f.Commit(); err == nil {
		t.Error("a second Commit gave no error")
	}
}

func TestFailureKeepsTheOldFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "out.csv")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	err := tabular.Write(path, func(w io.Writer) error {
		if _, err := w.Write(bytes.Repeat([]byte("new"), 100_000)); err != nil {
			return err
		}
		return broken
	})
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	content(t, path, "old")
	only(t, dir, "out.csv")
}

func TestFailureLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	broken := errors.New("broken")
	err := tabular.Write(filepath.Join(dir, "out.csv"), func(io.Writer) error { return broken })
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	only(t, dir)
}

func TestPlaces(t *testing.T) {
	dir := t.TempDir()
	for _, test := range []struct{ path, want string }{
		{dir, "is a folder; name a file"},
		{filepath.Join(dir, "missing", "out.csv"), "there is no folder " + filepath.Join(dir, "missing") +
			"; create it first"},
	} {
		err := tabular.Write(test.path, write("x"))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: got %v, want %q", test.path, err, test.want)
		}
	}
	only(t, dir)
}

func TestUnwritableFolder(t *testing.T) {
	dir := t.TempDir()
	if os.Getuid() == 0 {
		if runtime.GOOS != "linux" {
			t.Skip("the superuser may write anywhere")
		}
		dir = "/proc" // where not even the superuser can make a file
	} else if err := os.Chmod(dir, 0o555); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "out.csv")
	err := tabular.Write(path, write("x"))
	if err == nil || !strings.HasPrefix(err.Error(), "cannot write "+path+": ") || strings.Contains(err.Error(), ".part") {
		t.Errorf("got %v", err)
	}
}

func TestMode(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("no such modes")
	}
	dir := t.TempDir()
	plain := filepath.Join(dir, "plain")
	if err := os.WriteFile(plain, nil, 0o644); err != nil { // what the umask makes of 0644
		t.Fatal(err)
	}
	private := filepath.Join(dir, "private")
	if err := os.WriteFile(private, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	shared := filepath.Join(dir, "shared")
	if err := os.WriteFile(shared, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(shared, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		path string
		like string
	}{{filepath.Join(dir, "new"), plain}, {private, private}, {shared, shared}} {
		want, err := os.Stat(test.like)
		if err != nil {
			t.Fatal(err)
		}
		if err := tabular.Write(test.path, write("x")); err != nil {
			t.Fatal(err)
		}
		got, err := os.Stat(test.path)
		if err != nil {
			t.Fatal(err)
		}
		if got.Mode() != want.Mode() {
			t.Errorf("%s has mode %v, want %v", test.path, got.Mode(), want.Mode())
		}
	}
}

func TestSymbolicLinkStays(t *testing.T) {
	dir := t.TempDir()
	path, link := filepath.Join(dir, "out.csv"), filepath.Join(dir, "link.csv")
	if err := os.WriteFile(path, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("out.csv", link); err != nil {
		t.Skip(err)
	}
	if err := tabular.Write(link, write("new")); err != nil {
		t.Fatal(err)
	}
	content(t, path, "new")
	if to, err := os.Readlink(link); err != nil || to != "out.csv" {
		t.Errorf("the link is %q, %v", to, err)
	}
	only(t, dir, "link.csv", "out.csv")
}

// The devices of Linux: one that is always full, one that swallows all.
func TestDevices(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("no such devices")
	}
	for _, text := range []string{"x", strings.Repeat("x", 1<<20)} {
		err := tabular.Write("/dev/full", write(text))
		if err == nil || !strings.Contains(err.Error(), "cannot write /dev/full: no space left on device") {
			t.Errorf("full disk: got %v", err)
		}
	}
	if err := tabular.Write("/dev/null", write("x")); err != nil {
		t.Error(err)
	}
	for _, path := range []string{"/dev/full", "/dev/null"} {
		if info, err := os.Stat(path); err != nil || info.Mode()&os.ModeCharDevice == 0 {
			t.Errorf("%s is no device any more: %v, %v", path, info, err)
		}
	}
}

// Of several writers of one new file one succeeds and the others are told; what was
// there first stays, and nothing else is left.
func TestWriteNewNeverReplaces(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "car.json")
	const writers = 8
	var ready, all sync.WaitGroup
	ready.Add(writers)
	errs := make([]error, writers)
	for i := range writers {
		all.Go(func() {
			errs[i] = tabular.WriteNew(path, func(w io.Writer) error {
				ready.Done()
				ready.Wait() // none is there when any of them begins
				return write(strings.Repeat(string(rune('a'+i)), 100_000))(w)
			})
		})
	}
	all.Wait()
	won := -1
	for i, err := range errs {
		switch {
		case err == nil && won < 0:
			won = i
		case !errors.Is(err, fs.ErrExist):
			t.Errorf("writer %d: %v, want that the file is there", i, err)
		}
	}
	if won < 0 {
		t.Fatal("nobody wrote it")
	}
	content(t, path, strings.Repeat(string(rune('a'+won)), 100_000))
	only(t, dir, "car.json")
	broken := errors.New("broken")
	if err := tabular.WriteNew(filepath.Join(dir, "b.json"), func(io.Writer) error { return broken }); !errors.Is(err,
		broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	if err := tabular.WriteNew(path, write("x")); !errors.Is(err, fs.ErrExist) {
		t.Errorf("got %v, want that the file is there", err)
	}
	only(t, dir, "car.json")
}
