package vector

import "time"

// A Delivery is everything that the layers of one job hold.
type Delivery struct {
	CRS        CRS
	Footprints []Footprint // sorted by ID
	HeldBack   []HeldBack
	Checks     []CornerCheck
	// ImageChecks has an entry for each building when an orthophoto was given.
	ImageChecks []ImageCheck
	// CombinedFactor takes ground lengths to grid lengths; 0 where it is not
	// given. Only the columns of ground lengths follow it.
	CombinedFactor float64
	// Metadata are records about the whole delivery, beside the lineage.
	Metadata []Metadata
	// Lineage says in a few sentences of plain text where the data come from
	// and what was done to them.
	Lineage string
	// Time is that of the newest input, never of the clock, so that the same
	// input gives the same bytes.
	Time time.Time
}

// A Metadata record is text in the form that a standard gives it.
type Metadata struct {
	// Standard is the URI of the standard, MIME the type of the text.
	Standard, MIME, Text string
}

// Corners returns the corners of all footprints, in order, without the
// vertices of round parts.
func (d Delivery) Corners() []Corner {
	var corners []Corner
	for _, f := range d.Footprints {
		for _, c := range f.Corners {
			if c.Kind != Round {
				corners = append(corners, c)
			}
		}
	}
	return corners
}
