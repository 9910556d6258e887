package extract

import (
	"fmt"
	"slices"
	"strings"
)

// Summary returns the few lines that are printed at the end of a run.
func (r *Record) Summary() string {
	var b strings.Builder
	res := r.Results
	if res.Footprints == 0 {
		b.WriteString("No building in sight: the layers are valid and empty.\n")
	} else {
		fmt.Fprintf(&b, "%s with %d corners, of which %d adjusted and %d extended.\n",
			counted(res.Footprints, "footprint"), res.Corners, res.Adjusted, res.Corners-res.Adjusted)
	}
	if len(res.Review) > 0 {
		fmt.Fprintf(&b, "To look at: %s.\n", tally(res.Review))
	}
	if len(res.HeldBack) > 0 {
		fmt.Fprintf(&b, "Held back: %s.\n", tally(res.HeldBack))
	}
	if r.checked != nil {
		b.WriteString(r.checked.Summary(r.crs))
		b.WriteString(r.brief)
	} else {
		b.WriteString("Not tested against surveyed points: give them with --control.\n")
	}
	for _, note := range r.Notes {
		fmt.Fprintf(&b, "%s.\n", note)
	}
	if r.imageLine != "" {
		fmt.Fprintf(&b, "On the image: %s.\n", r.imageLine)
	}
	fmt.Fprintf(&b, "Roof edges, not walls, and no boundary survey. Delivery: %s\n", r.folder)
	return b.String()
}

// tally lists counts by name, in the order of the names.
func tally(counts map[string]int) string {
	names := make([]string, 0, len(counts))
	for name := range counts {
		names = append(names, name)
	}
	slices.Sort(names)
	for i, name := range names {
		names[i] = fmt.Sprintf("%d %s", counts[name], name)
	}
	return strings.Join(names, ", ")
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
