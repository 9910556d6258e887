package cloud

// Measures are what was measured of a block before any working parameter is
// set: every length and threshold of the later stages follows from them.
// Lengths are metres.
type Measures struct {
	// Density is the number of pulses of all swaths per square metre, the
	// median over the occupied patches of the block.
	Density float64
	// Spacing is 1/√Density.
	Spacing float64
	// SigmaZ is the standard deviation of points about a smooth hard surface,
	// along its normal, swaths taken together.
	SigmaZ float64
	// Sigma is the horizontal position noise per axis of a point relative to
	// its neighbours.
	Sigma float64
	// Beam is the half-width of the laser footprint on the ground.
	Beam float64
}
