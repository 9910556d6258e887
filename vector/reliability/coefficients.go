package reliability

// Coefficients returns the published coefficients, in the order of Features.
// They were fitted by `make calibration` on simulated blocks of odd seeds and
// tested on those of even ones; docs/footprints.md has both tables.
func Coefficients() []float64 {
	return []float64{
		3.10,  // constant
		0.36,  // size
		-0.78, // edge share
		-1.33, // corner error
		-1.70, // edge rms
		0.36,  // thin roof
		-0.31, // area error
		-0.73, // extended
		1.27,  // many corners
		-0.57, // short side
		-0.92, // skew corner
		-0.50, // no roof type
		-1.08, // adjoining
		-1.00, // at-block-edge
		-1.33, // irregular
		-3.27, // may-be-several
		-1.02, // occluded
		-1.00, // open-roof
		-1.00, // sparse
		-1.00, // tent-like
		-1.15, // vegetation
		-1.00, // vehicle-like
	}
}
