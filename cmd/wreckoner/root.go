package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"wreckoner/evaluate/report"
)

// Version is the tool's own, kept in frozen estimates.
const Version = "0.1.0"

// Exit codes.
const (
	exitDone     = 0
	exitFailed   = 1 // could not be done
	exitUsage    = 2 // wrong usage
	exitRejected = 3 // done, but some rows were rejected
)

// usageError is a command line that cannot be understood.
type usageError struct{ error }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// errRejected says that the work was done but for some rows, which were reported.
var errRejected = errors.New("some rows were rejected")

// errReported says that what went wrong was printed already.
var errReported = errors.New("reported")

// streams are where a command reads and writes.
type streams struct {
	ctx context.Context // ends when the run is interrupted
	in  io.Reader
	out io.Writer
	err io.Writer

	failed error // what standard output did not take
}

// print writes data to standard output. Where that fails, the command does.
func (s *streams) print(format string, args ...any) {
	if _, err := fmt.Fprintf(s.out, format, args...); err != nil && s.failed == nil {
		s.failed = fmt.Errorf("standard output: %w", withoutCall(err))
	}
}

// tracked is standard output for a library that does not look at errors.
type tracked struct{ s *streams }

func (t *tracked) Write(p []byte) (int, error) {
	t.s.print("%s", p)
	return len(p), nil
}

// run executes one command line and returns the exit code.
func run(ctx context.Context, args []string, in io.Reader, out, errs io.Writer) int {
	s := &streams{ctx: ctx, in: in, out: out, err: errs}
	root := newRoot(s)
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(&tracked{s})
	root.SetErr(errs)
	err := root.ExecuteContext(ctx)
	if s.failed != nil && (err == nil || errors.Is(err, errRejected)) {
		err = s.failed
	}
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errRejected):
		return exitRejected
	case errors.Is(err, errReported):
		return exitFailed
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errs, "wreckoner: interrupted")
		return exitFailed
	case errors.As(err, &usage):
		fmt.Fprintf(errs, "wreckoner: %s\n", report.CleanLines(err.Error()))
		return exitUsage
	}
	fmt.Fprintf(errs, "wreckoner: %s\n", report.CleanLines(err.Error()))
	return exitFailed
}

func newRoot(s *streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "wreckoner",
		Short: "Judge damaged cars before they are bought",
		Long: "wreckoner reads the lot list of a salvage sale, turns coded damage into a distribution of\n" +
			"repair cost, and says which lots to bid on, how high, and what would change that.",
		Version:       Version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			hint := "wreckoner -h lists the commands"
			if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
				hint = "did you mean " + strings.Join(near, " or ") + "?"
			}
			return usagef("there is no command %q; %s", args[0], hint)
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			return usagef("say what to do; wreckoner -h lists the commands")
		},
	}
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages ", ".FlagUsagesWrapped 80 "))
	root.SetVersionTemplate("wreckoner {{.Version}}\n")
	root.SuggestionsMinimumDistance = 2
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(&cobra.Command{Hidden: true, Use: "no-help", RunE: func(*cobra.Command, []string) error {
		return usagef("write wreckoner COMMAND -h")
	}})
	root.AddCommand(newScreen(s), newProbe(s), newPlan(s), newSource(s), newFreeze(s), newReforecast(s), newFloor(s), newReview(s), newYear(s), newLearn(s), newDraft(s), newCheck(s), newCodes(s), newStart(s))
	for _, c := range root.Commands() {
		c.SetFlagErrorFunc(flagError)
		if check := c.Args; check != nil {
			c.Args = func(cmd *cobra.Command, args []string) error {
				if err := check(cmd, args); err != nil {
					return usagef("%s: %v; usage: wreckoner %s", cmd.Name(), err, cmd.Use)
				}
				return nil
			}
		}
	}
	root.SetFlagErrorFunc(flagError)
	return root
}

// flagError says what is wrong with an option, and which one may be meant.
func flagError(cmd *cobra.Command, err error) error {
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) && cmd.HasParent() {
		best := ""
		cmd.Flags().VisitAll(func(f *pflag.Flag) {
			name := unknown.GetSpecifiedName()
			if len(name) > 2 && (strings.HasPrefix(f.Name, name[:3]) || strings.Contains(f.Name, name)) {
				best = f.Name
			}
		})
		if best != "" {
			return usagef("%s: %v; did you mean --%s?", cmd.Name(), err, best)
		}
	}
	if !cmd.HasParent() {
		return usagef("%v; name a command first, as in wreckoner screen sale.csv; wreckoner -h lists them", err)
	}
	return usagef("%s: %v; wreckoner %s -h lists its options", cmd.Name(), err, cmd.Name())
}

// format is how results are written.
type format string

const (
	asTable    format = "table"
	asCSV      format = "csv"
	asJSON     format = "json"
	asMarkdown format = "markdown"
	asXLSX     format = "xlsx"
)

var formats = []string{string(asTable), string(asCSV), string(asJSON), string(asMarkdown), string(asXLSX)}

// output is where and how results are written.
type output struct {
	s      *streams
	format string
	file   string
	quiet  bool
	raw    bool
	shared *pflag.FlagSet
}

func (o *output) flags(f *pflag.FlagSet) {
	o.shared = f
	f.StringVar(&o.format, "format", string(asTable), strings.Join(formats, ", "))
	f.StringVarP(&o.file, "output", "o", "", "write to `FILE`, whole or not at all; .csv, .json, .md and .xlsx say the format")
	f.BoolVarP(&o.quiet, "quiet", "q", false, "no footnotes, notices or progress")
	f.BoolVar(&o.raw, "raw-text", false, "in CSV, leave text as it is that a spreadsheet would run as a formula")
}

func (o *output) check() error {
	if !slices.Contains(formats, o.format) {
		return usagef("--format %s: write one of %s", o.format, strings.Join(formats, ", "))
	}
	if !o.shared.Changed("format") {
		if byName, ok := formatOf(o.file); ok {
			o.format = string(byName)
		}
	}
	switch workbook := format(o.format) == asXLSX; {
	case isWorkbook(o.file) && !workbook:
		return usagef("--format %s: %s is the name of a workbook; name another file, or leave --format out", o.format, o.file)
	case workbook && o.file == "":
		return usagef("--format xlsx: name the workbook, as in -o lots.xlsx")
	}
	return nil
}

// isWorkbook reports whether a file's name is that of an .xlsx workbook.
func isWorkbook(file string) bool { return strings.EqualFold(filepath.Ext(file), ".xlsx") }

// formatOf is the format that goes with a file's name.
func formatOf(file string) (format, bool) {
	f, ok := map[string]format{".csv": asCSV, ".json": asJSON, ".md": asMarkdown, ".xlsx": asXLSX}[strings.ToLower(filepath.Ext(file))]
	return f, ok
}

// style says what the terminal can show, as far as there is one.
func (o *output) style() report.Style {
	style := report.Style{}
	f, ok := o.s.out.(*os.File)
	if o.file != "" || !ok || !term.IsTerminal(int(f.Fd())) {
		return style
	}
	if width, _, err := term.GetSize(int(f.Fd())); err == nil {
		style.Width = max(width, report.Width80)
	}
	_, plain := os.LookupEnv("NO_COLOR")
	style.Colour = !plain && os.Getenv("TERM") != "dumb"
	return style
}

// written is a result that can be written in every format.
type written interface {
	Document(width int) *report.Document
	Records() *report.Records
	JSON(io.Writer) error
}

// write writes a result to standard output or to the file.
func (o *output) write(r written) error {
	style := o.style()
	return o.deliver(func(w io.Writer) error {
		switch format(o.format) {
		case asCSV:
			return r.Records().CSV(w, report.Guard(!o.raw))
		case asXLSX:
			return r.Records().Workbook(w, o.shared.Name())
		case asJSON:
			return r.JSON(w)
		case asMarkdown:
			return r.Document(report.Width80).Markdown(w)
		}
		return r.Document(style.Width).Terminal(w, style)
	})
}
