package outline

import (
	"errors"
	"fmt"
	"math"
)

// Side says on which side of a roof edge an observation shows its place to be.
type Side uint8

const (
	// Inside is a pulse that met the roof and nothing below it.
	Inside Side = iota
	// Split is a pulse that met the roof and something below it: the edge runs through its footprint.
	Split
	// Outside is a pulse that passed the height of the roof edge and went on below it.
	Outside
	// Unknown is a pulse that says nothing of the roof, such as one stopped by foliage. It only tells that something hides the edge.
	Unknown
)

// An Observation is the place, in metres about a local origin, at which a pulse met or passed the height of the roof edge.
type Observation struct {
	X, Y  float64
	Side  Side
	Swath uint16
	// Blind says that a pulse that came as this one could not be told to be split at the edge, since what it would have met beneath is too
	// close: the face of a wall that stands flush with the edge and is turned to the sensor. Inside then means that any of it met the roof.
	Blind bool
}

// Measures are what was measured of the cloud around the building, in metres.
type Measures struct {
	// Spacing is s = 1/√ρ, with ρ the pulses of all swaths per square metre. Positive.
	Spacing float64
	// Sigma is the standard deviation per axis of a point's place relative to the building. 0 is legal: exact places.
	Sigma float64
	// Beam is the half-width of a pulse's footprint within which it still answers. 0 is legal, and then Split observations are not used.
	Beam float64
	// Footprint tells the half-width by direction where beams are elongated, with Beam its mean; the zero value stands for Beam in all.
	Footprint Ellipse
	// SplitsMerged says that split pulses could not be told and are among the Inside observations. Outside then means that all of the
	// footprint passed. The edge stays unbiased, but the gain of the third class is lost (docs/outline.md).
	SplitsMerged bool
	// BeamDoubt is the standard deviation of the two borders of Split about where Beam puts them, both of all edges together and of each by
	// itself: how much of a footprint must meet a surface to be seen hangs on how bright roof and ground are. 0 is legal.
	BeamDoubt float64
}

// Options govern the choice among outlines. Lengths are metres.
type Options struct {
	// MinJog is the least step, bay or notch to keep. Default 0.2: a step below it is a gutter or a cladding, not the plan of a house.
	MinJog float64
	// MinSkew is the least distance by which a wall must leave the square over its length to be allowed its own direction. Default 0.05.
	MinSkew float64
	// MinHole is the least area, in square metres, of a courtyard. Default 4; 12 points are asked for as well.
	MinHole float64
	// Mislabel is the share of observations whose side is wrong wherever they lie (aerials, low branches). In (0, 0.1); default 0.005.
	Mislabel float64
	// MaxEdges bounds the work on one building; a finer outline is thinned to its largest features. Default 1000.
	MaxEdges int
}

// DefaultOptions returns the published defaults for what was measured.
func DefaultOptions(Measures) Options {
	return Options{MinJog: 0.2, MinSkew: 0.05, MinHole: 4, Mislabel: 0.005, MaxEdges: 1000}
}

// Validate returns every fault of the options, joined, or nil.
func (o Options) Validate() error {
	var faults []error
	for _, field := range []struct {
		name  string
		value float64
	}{{"smallest jog", o.MinJog}, {"smallest skew", o.MinSkew}, {"smallest hole", o.MinHole}} {
		if !(field.value >= 0) || math.IsInf(field.value, 1) {
			faults = append(faults, fmt.Errorf("%s %v is not a length or area of 0 or more", field.name, field.value))
		}
	}
	if !(o.Mislabel > 0 && o.Mislabel < 0.1) {
		faults = append(faults, fmt.Errorf("share of mislabels %v is not between 0 and 0.1", o.Mislabel))
	}
	if o.MaxEdges < 4 {
		faults = append(faults, fmt.Errorf("limit of %d edges is below 4", o.MaxEdges))
	}
	return errors.Join(faults...)
}

func (m Measures) validate() error {
	if !(m.Spacing > 0) || !(m.Sigma >= 0) || !(m.Beam >= 0) || !(m.BeamDoubt >= 0) || math.IsInf(m.Spacing+m.Sigma+m.Beam+m.BeamDoubt, 1) {
		return fmt.Errorf("spacing %v, sigma %v, beam %v and its doubt %v must be finite, the first positive and the others not negative",
			m.Spacing, m.Sigma, m.Beam, m.BeamDoubt)
	}
	return nil
}

// ErrTooFew is returned when the observations cannot carry an outline: fewer than six inside, or none left after the raster.
var ErrTooFew = errors.New("too few observations on the roof")

// ErrNotFinite is returned when an observation has a coordinate that is NaN or infinite.
var ErrNotFinite = errors.New("observation is not finite")

// Kind says how a vertex came about.
type Kind uint8

const (
	// Adjusted vertices lie where two edges meet that are both seen at the vertex.
	Adjusted Kind = iota
	// Extended vertices lie where at least one edge was carried on through a part that the observations do not show.
	Extended
	// Round vertices are those of the polyline that stands for an arc, and where an edge leaves one smoothly. They are no corners.
	Round
)

// A Vertex is a corner of the building.
type Vertex struct {
	X, Y float64
	// CovXX, CovXY and CovYY are the covariance of X and Y relative to the cloud, square metres.
	CovXX, CovXY, CovYY float64
	// DoubtXX, DoubtXY and DoubtYY are the part of it that is not of the fit's parameters: the edges may stray from their lines here,
	// or a slant cut the corner off.
	DoubtXX, DoubtXY, DoubtYY float64
	Kind                      Kind
	// Angle is the interior angle, radians in (0, 2π).
	Angle float64
}

// An Edge is the side of the outline from a vertex to the next.
type Edge struct {
	Length float64
	// Sigma is the standard error of the edge's offset across itself at its middle.
	Sigma float64
	// Seen is the share of the length along which both sides of the edge are seen, 0 to 1.
	Seen float64
	// OneSided is true when the outside, or the inside, of the edge is missing from the observations for most of what should be there.
	OneSided bool
	// Inside, Split and Outside count the observations within two and a half spacings of the edge.
	Inside, Split, Outside int
	// Unexplained counts those of them that lie on the wrong side further from the edge than noise and beam explain.
	Unexplained int
	// Direction indexes Result.Directions. The edge's outward normal has that angle plus Quarter right angles.
	Direction, Quarter int
	// Parameter is the index of the edge's offset in Result.Covariance.
	Parameter int
	// Arc is 1 more than the index in Result.Arcs of the arc that the edge is a chord of, 0 for none. Chords have no Direction and no
	// Parameter; both are -1.
	Arc int
}

// A Ring is closed without repeating the first vertex; edge i runs from vertex i to vertex i+1. The roof is on the left: exteriors run
// anticlockwise, holes clockwise.
type Ring struct {
	Vertices []Vertex
	Edges    []Edge
	Hole     bool
}

// A Result is the outline of a building.
type Result struct {
	// Rings hold the exterior first, then the holes from the largest to the smallest.
	Rings []Ring
	// Directions are the angles of the outline's normals, radians in [0, π/2), one for each set of walls at right angles to each other.
	Directions []float64
	// Covariance is that of all parameters, row by row: the directions (radians) first, then the offset of every edge (metres) from
	// (OriginX, OriginY) along its outward normal, in the order of rings and edges.
	Covariance       []float64
	OriginX, OriginY float64
	// Arcs are the round parts.
	Arcs []Arc
	// AreaSigma is the standard error of the area inside, square metres.
	AreaSigma float64
	// EdgeRMS is the root mean square distance to the outline of those observations near it that lie on its wrong side; metres.
	EdgeRMS float64
	// LogLik is the log-likelihood of the observations.
	LogLik float64
	// Near is the number of observations so near an edge that their side is not settled by the outline, Iterations the number of steps of
	// the last climb.
	Near, Iterations int
	// Regular is false when the outline is the last valid one of a fit that failed, or leaves more of the observations unexplained
	// than noise and mislabels allow.
	Regular bool
	// Reasons say in words of the trade, sorted, why a person should look at this outline: "irregular", "occluded", "sparse".
	Reasons []string
}
