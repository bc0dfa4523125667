package main

import (
	"embed"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"wreckoner/evaluate/glossary"
)

// helpWidth is the width of help in columns.
const helpWidth = 80

//go:embed topics/*.txt
var topicTexts embed.FS

// topic is a page of help that belongs to no command: the words that name it, and its text; the first line is its
// title.
type topic struct {
	names []string
	text  string
}

func (t *topic) title() string {
	title, _, _ := strings.Cut(t.text, "\n")
	return title
}

// topics returns the pages of help, in the order in which they are listed.
func topics() []topic {
	all := []topic{{names: []string{"words", "word", "glossary"}, text: wordsText()}}
	for _, names := range [][]string{
		{"lists", "list", "lot list", "lots"},
		{"table", "reading the table"},
		{"ledger", "the ledger"},
		{"options", "ways"},
		{"shop", "shop folder", "the shop folder"},
		{"exit", "exit codes", "exit code"},
	} {
		data, err := topicTexts.ReadFile("topics/" + names[0] + ".txt")
		if err != nil {
			panic(err) // the files are built in
		}
		all = append(all, topic{names, string(data)})
	}
	return all
}

// wordsText returns the glossary as text.
func wordsText() string {
	var b strings.Builder
	b.WriteString("The words that wreckoner uses, and what they mean\n\n")
	for _, t := range glossary.Terms() {
		fmt.Fprintf(&b, "  %s\n", t.Term)
		for _, line := range wrap(t.Meaning, helpWidth-6) {
			fmt.Fprintf(&b, "      %s\n", line)
		}
	}
	return b.String()
}

// wrap breaks a text into lines of at most width columns, where its words allow.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len(line)+1+len(word) > width {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}

// helpCommand prints the help of a command or a topic.
func helpCommand(s *streams) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND or TOPIC]",
		Short: "Help on a command or a topic",
		RunE: func(cmd *cobra.Command, args []string) error {
			root := cmd.Root()
			if len(args) == 0 {
				return root.Help()
			}
			name := strings.ToLower(strings.Join(args, " "))
			for _, c := range root.Commands() {
				if c.Name() == name {
					return c.Help()
				}
			}
			for _, t := range topics() {
				if slices.Contains(t.names, name) {
					s.print("%s", t.text)
					return nil
				}
			}
			return usagef("there is no help on %q; wreckoner help lists the commands and topics", name)
		},
	}
}

// showHelp prints the help of a command in our own layout.
func showHelp(s *streams) func(*cobra.Command, []string) {
	return func(cmd *cobra.Command, _ []string) {
		if !cmd.HasParent() {
			s.print("%s", rootHelp(cmd))
			return
		}
		text := cmd.Short
		if cmd.Long != "" {
			text = cmd.Long
		}
		for paragraph := range strings.SplitSeq(text, "\n\n") {
			s.print("%s\n\n", strings.Join(wrap(paragraph, helpWidth), "\n"))
		}
		s.print("How to write it:\n  wreckoner %s\n", cmd.Use)
		if cmd.Example != "" {
			s.print("\nExamples:\n%s\n", cmd.Example)
		}
		if options := optionLines(cmd.Flags()); options != "" {
			s.print("\nOptions:\n%s", options)
		}
	}
}

// rootHelp lists the commands in the order of use, and the topics.
func rootHelp(root *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\nCommands, in order of use:\n", root.Long)
	for _, c := range root.Commands() {
		if !c.Hidden && c.Name() != "help" {
			fmt.Fprintf(&b, "  %-12s%s\n", c.Name(), c.Short)
		}
	}
	b.WriteString("\nHelp topics:\n")
	for _, t := range topics() {
		fmt.Fprintf(&b, "  %-12s%s\n", t.names[0], t.title())
	}
	b.WriteString("\nwreckoner help COMMAND shows a command's options, wreckoner help TOPIC a topic.\n" +
		"wreckoner --version shows the version.\n")
	return b.String()
}

// optionLines describes options, each with the name of its value.
func optionLines(flags *pflag.FlagSet) string {
	const indent = 27
	var b strings.Builder
	flags.VisitAll(func(f *pflag.Flag) {
		left, usage := optionParts(f)
		if len(left) >= indent-1 {
			fmt.Fprintf(&b, "%s\n", left)
			left = ""
		}
		for _, line := range wrap(usage, helpWidth-indent) {
			fmt.Fprintf(&b, "%-*s%s\n", indent, left, line)
			left = ""
		}
	})
	return b.String()
}

// optionParts returns how an option is written, with the name of its value, and what it does.
func optionParts(f *pflag.Flag) (left, usage string) {
	left = "      --" + f.Name
	if f.Shorthand != "" {
		left = "  -" + f.Shorthand + ", --" + f.Name
	}
	value, usage := pflag.UnquoteUsage(f)
	if f.Value.Type() != "bool" {
		left += " " + value
		usage = strings.TrimPrefix(usage, value+": ")
	}
	if f.Name == "help" {
		usage = "show this help"
	}
	switch f.DefValue {
	case "", "0", "[]", "false":
		return left, usage
	}
	if !strings.Contains(usage, "without it") {
		usage += "; without it " + f.DefValue
	}
	return left, usage
}

// wants returns a check that a command has at least least and at most most arguments (0: any number); ask is what to
// name otherwise.
func wants(least, most int, ask string) cobra.PositionalArgs {
	return func(_ *cobra.Command, args []string) error {
		if len(args) < least || most > 0 && len(args) > most || least == 0 && most == 0 && len(args) > 0 {
			return fmt.Errorf("%s", ask)
		}
		return nil
	}
}
