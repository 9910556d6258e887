package scene

import (
	"errors"
	"fmt"

	"quoin/extract/scene/flight"
	"quoin/extract/scene/layout"
	"quoin/vector"
)

// A Composite is a named kind of block.
type Composite = layout.Kind

// Demo is the name of the default block.
const Demo = layout.Demo

// Composites lists the blocks that can be simulated, the demo block first.
func Composites() []Composite { return layout.Kinds() }

func compositeOf(name string) (Composite, bool) {
	for _, c := range Composites() {
		if c.Name == name {
			return c, true
		}
	}
	return Composite{}, false
}

func names() []string {
	var all []string
	for _, c := range Composites() {
		all = append(all, c.Name)
	}
	return all
}

// A Labelling says what classes the points of the cloud files carry.
type Labelling string

// The labellings.
const (
	// Unlabelled leaves all points in class 1.
	Unlabelled Labelling = "none"
	// Labelled gives each its ASPRS class; roofs and walls are class 6.
	Labelled Labelling = "true"
	// Mislabelled gives a third of the points a wrong class: some roofs are
	// ground, some ground is building, trees are buildings.
	Mislabelled Labelling = "wrong"
)

// A Spec says which block to simulate. Start from DefaultSpec: no field has a
// hidden default but Extent and Scanner, whose zero values mean those of the
// composite.
type Spec struct {
	// Composite is the name of a block of Composites.
	Composite string
	Seed      uint64
	// Extent is the block's size in metres, east and north.
	Extent [2]float64
	// Spacing is 1/√density in metres, all flight lines together.
	Spacing float64
	// Scanner is the family of scanner.
	Scanner flight.Kind
	// Errors, Divergence and Height replace the scanner's when not nil or
	// zero.
	Errors     *flight.Errors
	Divergence *[2]float64
	Height     float64
	// HeadingDegrees is the direction of the flight lines from east.
	HeadingDegrees float64
	CrossLines     int
	// Turns keeps the scanner running while the platform turns.
	Turns bool
	// Unit is that of the CRS, horizontal and vertical.
	Unit vector.Unit
	// Format is the point data record format: 0 to 3 are written as LAS 1.2,
	// 6 to 8 as LAS 1.4. Those without time or colour leave it out.
	Format uint8
	// Labels says what classes the cloud carries.
	Labels Labelling
	// Blunders is the number of control points with a gross error.
	Blunders int
	// Ortho asks for an image; nil for none.
	Ortho *OrthoSpec
	// MaxPulses lowers the density so that no more pulses are planned; 0 sets
	// no limit.
	MaxPulses float64
}

// DefaultSpec returns the spec of a composite at a spacing of 0.13 m. The
// survey of the demo block has two blunders.
func DefaultSpec(composite string) Spec {
	blunders := 0
	if composite == Demo {
		blunders = 2
	}
	return Spec{
		Blunders:  blunders,
		Composite: composite, Seed: 1, Spacing: 0.13, HeadingDegrees: 7, CrossLines: 1,
		Unit: vector.Metre, Format: 7, Labels: Unlabelled,
	}
}

// validate returns all that is wrong with a spec.
func (s Spec) validate() error {
	var all []error
	if _, known := compositeOf(s.Composite); !known {
		all = append(all, fmt.Errorf("block %q is not known: give one of %v", s.Composite, names()))
	}
	if !(s.Spacing >= 0.02 && s.Spacing <= 5) {
		all = append(all, fmt.Errorf("spacing %g m is not between 0.02 and 5", s.Spacing))
	}
	for _, e := range s.Extent {
		if e != 0 && !(e >= 20 && e <= 5000) {
			all = append(all, fmt.Errorf("extent %g m is not between 20 and 5000", e))
		}
	}
	if _, err := crsOf(s.Unit); err != nil {
		all = append(all, err)
	}
	if s.Format > 8 || s.Format == 4 || s.Format == 5 {
		all = append(all, fmt.Errorf("point format %d is not written: give 0 to 3 or 6 to 8", s.Format))
	}
	switch s.Labels {
	case Unlabelled, Labelled, Mislabelled:
	default:
		all = append(all, fmt.Errorf("labelling %q is not known", s.Labels))
	}
	if s.Ortho != nil {
		all = append(all, s.Ortho.validate())
	}
	return errors.Join(all...)
}

// scanner returns the spec's scanner.
func (s Spec) scanner(kind flight.Kind) (flight.Scanner, error) {
	sc, err := flight.Preset(kind)
	if err != nil {
		return sc, err
	}
	if s.Errors != nil {
		sc.Errors = *s.Errors
	}
	if s.Divergence != nil {
		sc.Divergence = *s.Divergence
	}
	if s.Height > 0 {
		sc.Height = s.Height
	}
	return sc, nil
}
