package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/pflag"
)

// groupKey marks the group of a flag in its annotations.
const groupKey = "group"

// group puts flags into a named group of the help page.
func group(flags *pflag.FlagSet, name string, members ...string) {
	for _, m := range members {
		if err := flags.SetAnnotation(m, groupKey, []string{name}); err != nil {
			panic(err) // a flag that was not defined
		}
	}
}

// general is the group of flags that belong to no other.
const general = "General"

// flagGroups prints a command's flags by group, in the order the groups come
// up, general ones last, each with its default.
func flagGroups(flags *pflag.FlagSet) string {
	sets := make(map[string]*pflag.FlagSet)
	var order []string
	flags.VisitAll(func(f *pflag.Flag) {
		name := general
		if g := f.Annotations[groupKey]; len(g) > 0 {
			name = g[0]
		}
		if sets[name] == nil {
			sets[name] = pflag.NewFlagSet(name, pflag.ContinueOnError)
			sets[name].SortFlags = false
			order = append(order, name)
		}
		plain := *f
		plain.Value = shownValue{f.Value}
		if plain.DefValue == "[]" {
			plain.DefValue = ""
		}
		sets[name].AddFlag(&plain)
	})
	if i := slices.Index(order, general); i >= 0 {
		order = append(slices.Delete(order, i, i+1), general)
	}
	var b strings.Builder
	for _, name := range order {
		fmt.Fprintf(&b, "%s:\n%s\n", name, sets[name].FlagUsages())
	}
	return strings.TrimRight(b.String(), "\n")
}

// A shownValue is a flag's value under a name for people, in place of that of
// its type in Go.
type shownValue struct{ pflag.Value }

// Type is the placeholder in the help.
func (v shownValue) Type() string {
	switch name := v.Value.Type(); name {
	case "string":
		return "text"
	case "stringSlice":
		return "list"
	case "int", "uint64", "float64":
		return "number"
	case "float64Slice":
		return "numbers"
	default:
		return name
	}
}

const usageTemplate = `Usage:
  {{.UseLine}}{{if .HasAvailableSubCommands}}
  {{.CommandPath}} COMMAND{{end}}{{if .HasExample}}

Example:
{{.Example}}{{end}}{{if .HasAvailableSubCommands}}

Commands:{{range .Commands}}{{if .IsAvailableCommand}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

{{flagGroups .LocalFlags}}{{end}}{{if .HasAvailableSubCommands}}

"{{.CommandPath}} COMMAND --help" tells more about a command.{{end}}
`
