package reliability

// Coefficients returns the published coefficients, in the order of Features.
// They were fitted by `make calibration` on simulated blocks of odd seeds and
// tested on those of even ones; docs/footprints.md has both tables.
func Coefficients() []float64 {
	return []float64{
		3.26,  // constant
		0.07,  // size
		-1.19, // edge share
		-0.23, // corner error
		-1.37, // edge rms
		-1.00, // thin roof
		-0.68, // area error
		-1.08, // extended
		-0.42, // many corners
		-0.53, // short side
		-1.45, // skew corner
		-0.50, // no roof type
		-1.05, // adjoining
		-1.00, // at-block-edge
		-0.78, // irregular
		-2.13, // may-be-several
		-1.04, // occluded
		-1.00, // open-roof
		-0.90, // sparse
		-1.00, // tent-like
		-0.72, // vegetation
		-1.00, // vehicle-like
	}
}
