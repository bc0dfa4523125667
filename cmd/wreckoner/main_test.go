package main

import (
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"wreckoner": main,
	})
}

// Every script is one that a user could have typed.
func TestScripts(t *testing.T) {
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			e.Setenv("GOGC", "400") // hundreds of short runs, which else collect garbage for a quarter of their time
			e.Setenv("SAMPLES", filepath.Join(root, "samples"))
			e.Setenv("STARTER", filepath.Join(root, "damage", "costs", "starter"))
			return nil
		},
	})
}
