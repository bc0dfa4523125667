package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"wreckoner/evaluate/lots"
)

// manyLots writes a list of n lots.
func manyLots(t *testing.T, path string, n int) {
	t.Helper()
	var b strings.Builder
	b.WriteString("lot,category,damage,value,guide,description\n")
	for i := range n {
		fmt.Fprintf(&b, "L%d,N,nose s1 c3 m1?60,9000,2000,front end damage\n", i)
	}
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

// command is wreckoner as a process of its own, which TestMain puts on the PATH.
func command(args ...string) *exec.Cmd { return exec.Command("wreckoner", args...) }

// An interrupt in the middle of a run ends it with a message and without a file,
// whether it computes, reads a workbook or a list, or waits for standard input.
func TestInterrupt(t *testing.T) {
	dir := t.TempDir()
	list := filepath.Join(dir, "lots.csv")
	n, hurry := lots.MostLots, time.Duration(1)
	if testing.Short() {
		n, hurry = n/20, 5
	}
	manyLots(t, list, n)
	for _, c := range []struct {
		name  string
		args  []string
		after time.Duration
	}{
		{"computing", []string{"screen", "--points", "65536", list, "-o", filepath.Join(dir, "out.csv")},
			1500 * time.Millisecond},
		{"ranking", []string{"screen", "--points", "64", list, "-o", filepath.Join(dir, "out.json")},
			1500 * time.Millisecond},
		{"reading", []string{"screen", list, "-o", filepath.Join(dir, "out.csv")}, 150 * time.Millisecond},
		{"coding", []string{"draft", "--all", list, "-o", filepath.Join(dir, "out.csv")}, 700 * time.Millisecond},
		{"coding into a workbook", []string{"draft", "--all", list, "-o", filepath.Join(dir, "out.xlsx")},
			700 * time.Millisecond},
		{"waiting", []string{"screen", "-", "-o", filepath.Join(dir, "out.csv")}, 300 * time.Millisecond},
		{"checking", []string{"check", list}, 500 * time.Millisecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			if testing.Short() && c.name != "computing" && c.name != "waiting" {
				t.Skip("needs a list long enough to be interrupted in")
			}
			tmp := t.TempDir()
			code, said, took := interrupted(t, tmp, max(c.after/hurry, 150*time.Millisecond), c.args)
			if code != 1 || !strings.HasSuffix(said, "wreckoner: interrupted\n") {
				t.Errorf("exit %d: %s", code, said)
			}
			if took > 30*time.Second { // it would have run on for minutes
				t.Errorf("it took %v to stop", took)
			}
			if left := names(t, dir); left != "lots.csv" {
				t.Errorf("left: %s", left)
			}
			if left := names(t, tmp); left != "" {
				t.Errorf("left among temporary files: %s", left)
			}
		})
	}
}

// interrupted runs wreckoner, interrupts it after a while, and returns its exit code, what it said and how long it took
// to stop. On a busy machine it may not have begun by then, and is ended by the signal itself: it is given longer.
func interrupted(t *testing.T, tmp string, after time.Duration, args []string) (code int, said string,
	took time.Duration) {
	t.Helper()
	for {
		cmd := command(args...)
		cmd.Env = append(os.Environ(), "TMPDIR="+tmp)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		in, err := cmd.StdinPipe() // stays open
		if err != nil {
			t.Fatal(err)
		}
		defer in.Close()
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.Sleep(after)
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		began := time.Now()
		err = cmd.Wait()
		if err == nil {
			t.Fatal("it was done before it was interrupted")
		}
		if cmd.ProcessState.Exited() || after > 5*time.Second {
			return cmd.ProcessState.ExitCode(), errs.String(), time.Since(began)
		}
		after *= 2
	}
}

// Whoever closes the pipe early has seen enough: no message.
func TestClosedPipe(t *testing.T) {
	if testing.Short() {
		t.Skip("codes and screens 3,000 lots")
	}
	list := filepath.Join(t.TempDir(), "lots.csv")
	manyLots(t, list, 3000)
	for _, args := range [][]string{{"screen", "--quiet", "--points", "64", "--format", "csv", list},
		{"draft", "--quiet", list}} {
		cmd := command(args...)
		var errs bytes.Buffer
		cmd.Stderr = &errs
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		if _, err := io.ReadFull(out, make([]byte, 1)); err != nil {
			t.Fatal(err)
		}
		if err := out.Close(); err != nil {
			t.Fatal(err)
		}
		if err := cmd.Wait(); err == nil {
			t.Errorf("%v: nobody noticed that the pipe was closed", args)
		}
		if status := cmd.ProcessState.Sys().(syscall.WaitStatus); !status.Signaled() || status.Signal() != syscall.SIGPIPE ||
			errs.Len() > 0 {
			t.Errorf("%v: %v: %s", args, cmd.ProcessState, errs.String())
		}
	}
}

// A file that shrinks while it is read is not taken for a short one.
func TestShrinks(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lots.csv")
	manyLots(t, path, 50_000)
	s := &streams{ctx: context.Background()}
	r, _, err := s.open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	if _, err := io.ReadFull(r, make([]byte, 1000)); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 5000); err != nil {
		t.Fatal(err)
	}
	_, err = io.ReadAll(r)
	if err == nil || !strings.Contains(err.Error(), "it shrank while it was read") {
		t.Errorf("%v", err)
	}
	// A workbook, which is read out of order.
	book := filepath.Join(t.TempDir(), "lots.xlsx")
	text, err := os.ReadFile("../../samples/listing.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(book, text, 0o644); err != nil {
		t.Fatal(err)
	}
	f, _, err := s.open(book)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := os.Truncate(book, int64(len(text)/2)); err != nil {
		t.Fatal(err)
	}
	if _, err = s.source(f, book, ""); err == nil || !strings.Contains(err.Error(), "shrank") {
		t.Errorf("%v", err)
	}
}

// A folder that takes no file is named as the user wrote it. Root may write
// anywhere, so that the folder is one of the system's that nobody writes to.
func TestUnwritable(t *testing.T) {
	list := filepath.Join(t.TempDir(), "lots.csv")
	manyLots(t, list, 1)
	for _, args := range [][]string{{"screen", list, "-o", "/proc/out.csv"}, {"screen", list, "-o", "/proc/out.xlsx"},
		{"draft", list, "-o", "/proc/out.xlsx"},
		{"check", "--fix", list, "-o", "/proc/out.csv"}, {"screen", list, "--rejects", "/proc/out.csv"}} {
		var out, errs bytes.Buffer
		if code := run(context.Background(), args, strings.NewReader(""), &out, &errs); code != exitFailed {
			t.Errorf("%v: exit %d", args, code)
		}
		if !strings.Contains(errs.String(), "cannot write /proc/out.") {
			t.Errorf("%v: %s", args, errs.String())
		}
	}
}

// A list that is no sale's is refused before it fills the memory, by all that hold
// it there.
func TestTooManyLots(t *testing.T) {
	if testing.Short() {
		t.Skip("reads a hundred thousand lots")
	}
	list := filepath.Join(t.TempDir(), "lots.csv")
	manyLots(t, list, lots.MostLots+1)
	var out, errs bytes.Buffer
	if code := run(context.Background(), []string{"check", list}, strings.NewReader(""), &out, &errs); code != exitFailed {
		t.Errorf("exit %d", code)
	}
	if want := fmt.Sprintf("lots.csv:%d: a list of more than 100,000 lots or 512 MiB does not fit; split it. "+
		"Only screen reads more, without --explain\n", lots.MostLots+2); !strings.HasSuffix(errs.String(), want) {
		t.Error(errs.String())
	}
}
