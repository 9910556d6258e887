package reliability

// Coefficients returns the published coefficients, in the order of Features.
// They were fitted by `make calibration` on simulated blocks of odd seeds and
// tested on those of even ones; docs/footprints.md has both tables.
func Coefficients() []float64 {
	return []float64{
		3.28,  // constant
		-0.77, // size
		-1.44, // edge share
		0.05,  // corner error
		-1.01, // edge rms
		-0.55, // thin roof
		-0.66, // area error
		1.64,  // extended
		0.65,  // many corners
		-0.54, // short side
		-1.90, // skew corner
		-0.93, // no roof type
		-1.00, // adjoining
		-1.00, // at-block-edge
		-0.86, // irregular
		-2.45, // may-be-several
		-0.67, // occluded
		-1.00, // open-roof
		-1.07, // sparse
		-1.00, // tent-like
		-0.74, // vegetation
		-1.00, // vehicle-like
	}
}
