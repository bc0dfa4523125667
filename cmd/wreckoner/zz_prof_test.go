package main

import (
	"bytes"
	"context"
	"os"
	"runtime/pprof"
	"strings"
	"testing"
)

func TestZZProf(t *testing.T) {
	f, _ := os.Create(os.Getenv("PROF"))
	pprof.StartCPUProfile(f)
	var out, errs bytes.Buffer
	run(context.Background(), strings.Fields(os.Getenv("ARGS")), strings.NewReader(""), &out, &errs)
	pprof.StopCPUProfile()
	f.Close()
}
