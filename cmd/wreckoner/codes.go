package main

import (
	"github.com/spf13/cobra"

	"wreckoner/evaluate/report"
)

func newCodes(s *streams) *cobra.Command {
	out := output{s: s}
	cmd := &cobra.Command{
		Use:   "codes",
		Short: "Print the damage code, to keep beside the photographs",
		Args:  wants(0, 0, "takes no file or lot"),
		RunE: func(*cobra.Command, []string) error {
			if err := out.check(); err != nil {
				return err
			}
			return out.write(report.Codes{})
		},
	}
	out.flags(cmd.Flags())
	return cmd
}
