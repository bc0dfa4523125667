package build_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// The twelve sample builds are what the program that draws them writes: nobody changed them by hand.
func TestTheTwelveSamplesAreAsDrawn(t *testing.T) {
	if testing.Short() {
		t.Skip("builds and runs a program")
	}
	dir := t.TempDir()
	run := exec.Command("go", "run", "./testdata/twelve", "-o", dir)
	run.Dir = "../.."
	if out, err := run.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(files) != 13 {
		t.Fatal(files, err)
	}
	for _, file := range files {
		drawn, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if kept, err := os.ReadFile(samples + "builds/" + filepath.Base(file)); err != nil || !bytes.Equal(kept, drawn) {
			t.Errorf("samples/builds/%s is not what is drawn (%v); go run ./testdata/twelve writes it", filepath.Base(file), err)
		}
	}
}
