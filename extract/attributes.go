package extract

import (
	"slices"
	"strings"

	"quoin/extract/cloud"
)

// An Attribute is something that points may carry beside coordinates, and what
// the run made of it.
type Attribute struct {
	Name string `json:"name"`
	// Present says that the files have it, and that it tells these points apart
	// where that was looked at.
	Present bool `json:"present"`
	// UsedFor says what it was used for; empty when it was not.
	UsedFor string `json:"used_for,omitempty"`
}

// attributes tells which attributes the points carry and what they were used
// for. Colour and intensity are not: whether they help has not been measured. Classes say only what to leave out,
// and not even that where they cannot be right.
func (j *job) attributes() []Attribute {
	b := j.block
	sources := slices.ContainsFunc(b.Points, func(p cloud.Point) bool { return p.Source != b.Points[0].Source })
	list := []Attribute{
		{"return numbers", b.HasReturns, "what lets pulses through, and which pulses an edge splits"},
		{"gps time", b.HasTime, "which returns are one pulse's, and where the sensor was"},
		{"point source", sources, "swaths, how they agree, and edges swath by swath"},
		{"classification", j.classed(), ""},
		{"intensity", true, ""}, // every point format has it
		{"colour", slices.ContainsFunc(j.files, func(f file) bool { return f.Info().HasColour }), ""},
	}
	if j.record.Points.Noise+j.record.Points.Withheld > 0 {
		list[3].UsedFor = "noise that is left out"
	}
	for i := range list {
		if !list[i].Present {
			list[i].UsedFor = ""
		}
	}
	return list
}

// classed reports whether any point has a class that says something.
func (j *job) classed() bool {
	p := j.record.Points
	n := p.Noise
	for class, count := range p.Classes {
		if class > 1 {
			n += count
		}
	}
	return n > 0
}

// usedAttributes names what was used beside coordinates.
func usedAttributes(list []Attribute) string {
	var names []string
	for _, a := range list {
		if a.UsedFor != "" {
			names = append(names, a.Name)
		}
	}
	if len(names) == 0 {
		return "nothing"
	}
	return strings.Join(names, ", ")
}
