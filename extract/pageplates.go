package extract

import (
	"context"
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
func (j *job) pagePlates(ctx context.Context, block picture) (list []report.Plate, left int, err error) {
	shown := j.shownOnPage()
	var footprints []vector.Footprint
	for _, i := range shown {
		footprints = append(footprints, j.delivery.Footprints[i])
	}
	p, err := j.newPlates(ctx, block, 2*j.cloud.Measures.Spacing, footprints)
	if err != nil {
		return nil, 0, err
	}
	under := plate.Underlay{Image: block.image, Bound: block.bound, Reference: report.PlanImage}
	for _, i := range shown {
		b := p.building(i)
		b.Under = under
		list = append(list, report.Plate{
			Title: fmt.Sprintf("Building %d · %s", i+1, b.ID), SVG: template.HTML(p.sheet.Building(b)),
		})
	}
	checks := order(j.delivery.Checks)
	checks = checks[:min(len(checks), mostPlates)]
	for _, k := range checks {
		c := p.corner(k)
		c.Under = under
		list = append(list, report.Plate{Title: "Surveyed point " + k.ControlID, SVG: template.HTML(p.sheet.Corner(c))})
	}
	return list, len(j.delivery.Footprints) + len(j.delivery.Checks) - len(list), nil
}

// shownOnPage returns which footprints have plates in the report.
func (j *job) shownOnPage() []int {
	tested := make(map[string]bool)
	for _, c := range j.delivery.Checks {
		tested[c.BuildingID] = true
	}
	all := len(j.delivery.Footprints) <= mostPlates
	var shown []int
	for i, f := range j.delivery.Footprints {
		if len(shown) < mostPlates && (all || len(f.Review) > 0 || tested[f.ID]) {
			shown = append(shown, i)
		}
	}
	return shown
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
