package extract

import (
	"fmt"
	"html/template"

	"quoin/vector"
	"quoin/vector/plate"
	"quoin/vector/report"
)

// mostPlates is how many plates of buildings, and of surveyed points, the report
// carries: with more it opens slowly.
const mostPlates = 60

// pagePlates returns the plates for the report, over the picture of its plan: of
// all buildings and points, or where there are too many of those that are to be looked
// at or were tested. left counts those that are not there.
func (j *job) pagePlates(block picture) (list []report.Plate, left int) {
	p := j.newPlates(block, 2*j.cloud.Measures.Spacing)
	under := plate.Underlay{Image: block.image, Bound: block.bound, Reference: report.PlanImage}
	tested := make(map[string]bool)
	for _, c := range j.delivery.Checks {
		tested[c.BuildingID] = true
	}
	all := len(j.delivery.Footprints) <= mostPlates
	for i, f := range j.delivery.Footprints {
		if len(list) >= mostPlates || !all && len(f.Review) == 0 && !tested[f.ID] {
			left++
			continue
		}
		b := p.building(i)
		b.Under = under
		list = append(list, report.Plate{
			Title: fmt.Sprintf("Building %d · %s", i+1, f.ID), SVG: template.HTML(p.sheet.Building(b)),
		})
	}
	for n, k := range order(j.delivery.Checks) {
		if n >= mostPlates {
			left++
			continue
		}
		c := p.corner(k)
		c.Under = under
		list = append(list, report.Plate{Title: "Surveyed point " + k.ControlID, SVG: template.HTML(p.sheet.Corner(c))})
	}
	return list, left
}

// order puts the points first that disagree or were not used.
func order(checks []vector.CornerCheck) []vector.CornerCheck {
	var first, last []vector.CornerCheck
	for _, c := range checks {
		if c.Used {
			last = append(last, c)
		} else {
			first = append(first, c)
		}
	}
	return append(first, last...)
}
