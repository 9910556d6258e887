package flight

import (
	"fmt"
	"math"
)

// A Kind is a family of scanners, by how the beam is moved.
type Kind string

// The families of scanners.
const (
	// RotatingBeams fans many beams along the track and spins them about it.
	RotatingBeams Kind = "rotating-beams"
	// LineScanner turns one beam across the track, line beside line.
	LineScanner Kind = "line-scanner"
	// OscillatingMirror swings one beam to and fro across the track.
	OscillatingMirror Kind = "oscillating-mirror"
)

// Kinds lists the families of scanners.
func Kinds() []Kind { return []Kind{LineScanner, RotatingBeams, OscillatingMirror} }

// degree in radians.
const degree = math.Pi / 180

// A Scanner is an instrument with the platform that carries it.
type Scanner struct {
	Kind Kind
	// FieldOfView is the full angle across the track that is used.
	FieldOfView float64
	// MaxPulseRate is the highest rate of pulses inside the field of view,
	// in hertz. A plan may ask for less.
	MaxPulseRate float64
	// Active is the share of time that a turn or swing spends inside the field
	// of view.
	Active float64
	// Turns is the scan rate in turns a second of rotating beams; the other
	// kinds' follows from the plan.
	Turns float64
	// Beams is the number of beams and Fan the angle they spread along track.
	Beams int
	Fan   float64
	// Divergence is the full angle of the beam at 1/e² of its peak, along and
	// across the track.
	Divergence [2]float64
	// Resolution is the least distance along the beam at which two surfaces
	// give two returns; nearer ones give one between them.
	Resolution float64
	// MaxReturns is the number of returns recorded of a pulse, at most 5.
	MaxReturns int
	// Threshold is the share of the energy, of a white surface met squarely at
	// planning height, that a return needs.
	Threshold float64
	// Height above ground with the least that may be flown, the speeds the
	// platform can fly, and the share of a swath that its neighbour covers
	// again.
	Height, MinHeight float64
	MinSpeed, Speed   float64
	Overlap           float64
	Wobble            float64 // standard deviation of the attitude flown
	Errors            Errors
	LowRate, TopRate  float64 // shares of pulses with a low or a high outlier
}

// Errors are the standard deviations of what the navigation does not know.
type Errors struct {
	// Range is in metres a return, Angle in radians a pulse.
	Range, Angle float64
	// Roll, Pitch and Heading vary over the correlation time Tau.
	Roll, Pitch, Heading, Tau float64
	// Offset is drawn once a swath and axis; Drift varies within it over
	// DriftTau. Metres.
	Offset, Drift, DriftTau float64
	// Turn multiplies attitude and drift errors while the platform turns.
	Turn float64
}

// Preset returns a plausible scanner of a kind. Figures are those of current
// instruments in round numbers: common practice, no source.
func Preset(kind Kind) (Scanner, error) {
	switch kind {
	case LineScanner:
		return Scanner{
			Kind: kind, FieldOfView: 76 * degree, MaxPulseRate: 300e3, Active: 0.42, Beams: 1,
			Divergence: [2]float64{0.0016, 0.0005}, Resolution: 0.55, MaxReturns: 5, Threshold: 0.012,
			Height: 60, MinHeight: 30, MinSpeed: 3, Speed: 8, Overlap: 0.45, Wobble: 0.6 * degree,
			Errors: Errors{
				Range: 0.012, Angle: 0.004 * degree, Roll: 0.008 * degree, Pitch: 0.008 * degree,
				Heading: 0.025 * degree, Tau: 6, Offset: 0.010, Drift: 0.008, DriftTau: 20, Turn: 6,
			},
			LowRate: 4e-5, TopRate: 3e-5,
		}, nil
	case RotatingBeams:
		return Scanner{
			Kind: kind, FieldOfView: 80 * degree, MaxPulseRate: 280e3, Active: 80.0 / 360, Turns: 20, Beams: 32, Fan: 30 * degree,
			Divergence: [2]float64{0.0015, 0.003}, Resolution: 0.9, MaxReturns: 3, Threshold: 0.016,
			Height: 45, MinHeight: 30, MinSpeed: 3, Speed: 6, Overlap: 0.5, Wobble: 0.8 * degree,
			Errors: Errors{
				Range: 0.022, Angle: 0.010 * degree, Roll: 0.015 * degree, Pitch: 0.015 * degree,
				Heading: 0.04 * degree, Tau: 5, Offset: 0.015, Drift: 0.012, DriftTau: 20, Turn: 6,
			},
			LowRate: 8e-5, TopRate: 6e-5,
		}, nil
	case OscillatingMirror:
		return Scanner{
			Kind: kind, FieldOfView: 36 * degree, MaxPulseRate: 1e6, Active: 0.8, Beams: 1,
			Divergence: [2]float64{0.00025, 0.00025}, Resolution: 1.2, MaxReturns: 5, Threshold: 0.012,
			Height: 500, MinHeight: 150, MinSpeed: 30, Speed: 70, Overlap: 0.5, Wobble: 0.3 * degree,
			Errors: Errors{
				Range: 0.015, Angle: 0.0008 * degree, Roll: 0.0015 * degree, Pitch: 0.0015 * degree,
				Heading: 0.004 * degree, Tau: 10, Offset: 0.020, Drift: 0.012, DriftTau: 30, Turn: 5,
			},
			LowRate: 3e-5, TopRate: 3e-5,
		}, nil
	}
	return Scanner{}, fmt.Errorf("flight: choose scanner: %q is not known: give one of %v", kind, Kinds())
}

// Swath returns the width of the ground seen in one pass over level ground.
func (s Scanner) Swath() float64 { return 2 * s.Height * math.Tan(s.FieldOfView/2) }

// Footprint returns the two diameters of the beam on the ground at nadir,
// along and across the track.
func (s Scanner) Footprint() [2]float64 {
	return [2]float64{s.Height * s.Divergence[0], s.Height * s.Divergence[1]}
}
