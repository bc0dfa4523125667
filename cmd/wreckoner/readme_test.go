package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// The commands of the README are run as a reader would, one after the other in
// one folder that has the samples. "# exit N" behind a command is its exit code.
func TestReadmeCommands(t *testing.T) {
	if testing.Short() {
		t.Skip("runs every command of the README")
	}
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	work := t.TempDir()
	if err := os.CopyFS(filepath.Join(work, "samples"), os.DirFS(filepath.Join(root, "samples"))); err != nil {
		t.Fatal(err)
	}
	bin := filepath.Join(work, "bin")
	if err := os.Mkdir(bin, 0o755); err != nil {
		t.Fatal(err)
	}
	build := exec.Command("go", "build", "-o", bin, "./cmd/wreckoner")
	build.Dir = root
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var printed strings.Builder
	comment := regexp.MustCompile(`\s+# exit (\d)$`)
	count := 0
	for block := range strings.SplitSeq(string(text), "```console\n") {
		block, _, fenced := strings.Cut(block, "```")
		if !fenced {
			continue
		}
		for line := range strings.Lines(block) {
			command, ok := strings.CutPrefix(strings.TrimSpace(line), "$ ")
			if !ok || command == "go test ./..." { // this is that
				continue
			}
			count++
			want := "0"
			if m := comment.FindStringSubmatch(command); m != nil {
				want, command = m[1], comment.ReplaceAllString(command, "")
			}
			typed := command
			command = strings.Replace(command, "go run ./cmd/wreckoner", "wreckoner", 1)
			sh := exec.CommandContext(context.Background(), "bash", "-c",
				command+"\ncode=$?; [ $code = "+want+" ] || { echo exit $code, want "+want+" >&2; exit 99; }")
			sh.Dir = work
			sh.Env = append(os.Environ(), "PATH="+bin+":"+os.Getenv("PATH"), "WRECKONER_SHOP=",
				"GOGC=400") // short runs, which else collect garbage for a quarter of their time
			out, err := sh.CombinedOutput()
			if err != nil {
				t.Errorf("$ %s\n%v\n%s", typed, err, out)
			}
			printed.Write(out)
		}
	}
	for block := range strings.SplitSeq(string(text), "```text\n") {
		block, _, fenced := strings.Cut(block, "```")
		if !fenced || strings.HasPrefix(string(text), block) {
			continue // what stands before the first block
		}
		for line := range strings.Lines(block) {
			if strings.TrimSpace(line) != "" && !strings.Contains(printed.String(), strings.TrimRight(line, "\n")) {
				t.Errorf("no command prints %q", line)
			}
		}
	}
	if count < 8 {
		t.Errorf("only %d commands found", count)
	}
}
