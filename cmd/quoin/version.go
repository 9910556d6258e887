package main

import (
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the program's version",
		Long:    "Print the program's semantic version, from its build information.\n\n" + exitCodes,
		Example: "  quoin version",
		Args:    usageArgs(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			fmt.Fprintf(cmd.OutOrStdout(), "quoin %s\n", version())
			return nil
		},
	}
}

// version returns the semantic version that the program was built as. A build
// from a work tree that is no tagged version counts as one before the first.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "0.0.0"
	}
	if v := strings.TrimPrefix(info.Main.Version, "v"); v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return "0.0.0-dev+" + s.Value[:12]
		}
	}
	return "0.0.0-dev"
}
