// Vet checks packages for the system and the processor that GOOS and GOARCH name, as go vet does, but
// reads what they import from its source without function bodies, where go vet would first compile the
// whole library for that system: a few seconds instead of a minute.
package main

import (
	"fmt"
	"os"

	"golang.org/x/tools/go/analysis"
	"golang.org/x/tools/go/analysis/checker"
	"golang.org/x/tools/go/analysis/passes/asmdecl"
	"golang.org/x/tools/go/analysis/passes/assign"
	"golang.org/x/tools/go/analysis/passes/atomic"
	"golang.org/x/tools/go/analysis/passes/bools"
	"golang.org/x/tools/go/analysis/passes/buildtag"
	"golang.org/x/tools/go/analysis/passes/copylock"
	"golang.org/x/tools/go/analysis/passes/directive"
	"golang.org/x/tools/go/analysis/passes/errorsas"
	"golang.org/x/tools/go/analysis/passes/ifaceassert"
	"golang.org/x/tools/go/analysis/passes/nilfunc"
	"golang.org/x/tools/go/analysis/passes/printf"
	"golang.org/x/tools/go/analysis/passes/shift"
	"golang.org/x/tools/go/analysis/passes/sigchanyzer"
	"golang.org/x/tools/go/analysis/passes/stdmethods"
	"golang.org/x/tools/go/analysis/passes/stringintconv"
	"golang.org/x/tools/go/analysis/passes/structtag"
	"golang.org/x/tools/go/analysis/passes/unmarshal"
	"golang.org/x/tools/go/analysis/passes/unreachable"
	"golang.org/x/tools/go/analysis/passes/unsafeptr"
	"golang.org/x/tools/go/packages"
)

// analyzers are those of go vet whose answer may differ from system to system.
var analyzers = []*analysis.Analyzer{
	asmdecl.Analyzer, assign.Analyzer, atomic.Analyzer, bools.Analyzer, buildtag.Analyzer, copylock.Analyzer,
	directive.Analyzer, errorsas.Analyzer, ifaceassert.Analyzer, nilfunc.Analyzer, printf.Analyzer, shift.Analyzer,
	sigchanyzer.Analyzer, stdmethods.Analyzer, stringintconv.Analyzer, structtag.Analyzer, unmarshal.Analyzer,
	unreachable.Analyzer, unsafeptr.Analyzer,
}

func main() {
	loaded, err := packages.Load(&packages.Config{Mode: packages.LoadAllSyntax}, os.Args[1:]...)
	if err != nil {
		fail(err)
	}
	if packages.PrintErrors(loaded) > 0 {
		os.Exit(1)
	}
	found, err := checker.Analyze(analyzers, loaded, nil)
	if err != nil {
		fail(err)
	}
	if err := found.PrintText(os.Stderr, 0); err != nil {
		fail(err)
	}
	for _, root := range found.Roots {
		if root.Err != nil {
			fail(root.Err)
		}
		if len(root.Diagnostics) > 0 {
			os.Exit(1)
		}
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "vet:", err)
	os.Exit(1)
}
