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

	failed error           // what standard output did not take
	shared map[string]bool // problems of many rows that were printed
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
		Long: "wreckoner reads the lot list of a salvage sale, works out what each car is\n" +
			"likely to cost to repair, and says which lots to bid on and where to stop.",
		Version:       Version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return nil
			}
			hint := "wreckoner help lists the commands"
			if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
				hint = "did you mean " + strings.Join(near, " or ") + "?"
			}
			return usagef("there is no command %q; %s", args[0], hint)
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			return usagef("say what to do; wreckoner help lists the commands")
		},
	}
	root.SetHelpFunc(showHelp(s))
	root.SetVersionTemplate("wreckoner {{.Version}}\n")
	root.SuggestionsMinimumDistance = 2
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetHelpCommand(helpCommand(s))
	cobra.EnableCommandSorting = false // the order of use
	root.AddCommand(
		newStart(s), newCheck(s), newCodes(s), newDraft(s), newScreen(s), newProbe(s), newPlan(s), newFreeze(s),
		newReforecast(s), newSource(s), newFloor(s), newReview(s), newLearn(s), newYear(s),
	)
	for _, c := range root.Commands() {
		c.SetFlagErrorFunc(flagError)
		if check := c.Args; check != nil {
			c.Args = func(cmd *cobra.Command, args []string) error {
				if err := check(cmd, args); err != nil {
					return usagef("%s: %v, as in: wreckoner %s", cmd.Name(), err, cmd.Use)
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
	if !cmd.HasParent() {
		return usagef("%s; name a command first, as in wreckoner screen sale.csv; wreckoner help lists them",
			optionFault(err))
	}
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		if near := nearOption(cmd, unknown.GetSpecifiedName()); near != "" {
			return usagef("%s: %s; did you mean --%s?", cmd.Name(), optionFault(err), near)
		}
	}
	return usagef("%s: %s; wreckoner help %s lists its options", cmd.Name(), optionFault(err), cmd.Name())
}

// nearOption returns the option of a command that begins like a name or contains it; "" if none does.
func nearOption(cmd *cobra.Command, name string) string {
	best := ""
	cmd.Flags().VisitAll(func(f *pflag.Flag) {
		if len(name) > 2 && (strings.HasPrefix(f.Name, name[:3]) || strings.Contains(f.Name, name)) {
			best = f.Name
		}
	})
	return best
}

// optionFault says in plain words what the option library found wrong.
func optionFault(err error) string {
	var unknown *pflag.NotExistError
	var bare *pflag.ValueRequiredError
	var wrong *pflag.InvalidValueError
	switch {
	case errors.As(err, &unknown):
		if letters := unknown.GetSpecifiedShortnames(); letters != "" {
			return fmt.Sprintf("there is no option -%s", unknown.GetSpecifiedName())
		}
		return fmt.Sprintf("there is no option --%s", unknown.GetSpecifiedName())
	case errors.As(err, &bare):
		value, _ := pflag.UnquoteUsage(bare.GetFlag())
		return fmt.Sprintf("--%s needs a value: --%s %s", bare.GetFlag().Name, bare.GetFlag().Name, value)
	case errors.As(err, &wrong):
		f := wrong.GetFlag()
		switch f.Value.Type() {
		case "int", "uint64", "float64":
			return fmt.Sprintf("--%s %q is not a number; write one such as 20", f.Name, wrong.GetValue())
		case "bool":
			return fmt.Sprintf("--%s takes no value; write --%s", f.Name, f.Name)
		case "stringToString":
			return fmt.Sprintf("--%s %q has no = in it; write COLUMN=\"Header\"", f.Name, wrong.GetValue())
		}
	}
	return err.Error()
}

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
	f.StringVar(&o.format, "format", string(asTable), "`FORMAT`: "+formatNames()+
		"; without it, as the name of --output ends, else table")
	f.StringVarP(&o.file, "output", "o", "", "write to `FILE`; its ending (.csv, .json, .md, .xlsx) sets the format")
	f.BoolVarP(&o.quiet, "quiet", "q", false, "no footnotes, notices or progress")
	f.BoolVar(&o.raw, "raw-text", false, "don't put ' before text that a spreadsheet would run as a formula")
}

func (o *output) check() error {
	if !slices.ContainsFunc(formats, func(x outputFormat) bool { return string(x.name) == o.format }) {
		return usagef("--format %s: write one of %s", o.format, formatNames())
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

// write writes a result to standard output or to the file.
func (o *output) write(r written) error {
	for _, x := range formats {
		if string(x.name) == o.format {
			return o.deliver(func(w io.Writer) error { return x.write(o, r, w) })
		}
	}
	return usagef("--format %s: write one of %s", o.format, formatNames())
}
