package reliability

// Coefficients returns the published coefficients, in the order of Features.
// They were fitted by `make calibration` on simulated blocks of odd seeds and
// tested on those of even ones; docs/footprints.md has both tables.
func Coefficients() []float64 {
	return []float64{
		3.21,  // constant
		0.49,  // size
		-0.93, // edge share
		-1.27, // corner error
		-1.66, // edge rms
		0.26,  // thin roof
		-0.22, // area error
		-0.74, // extended
		1.22,  // many corners
		-0.57, // short side
		-0.98, // skew corner
		-0.50, // no roof type
		-1.08, // adjoining
		-1.00, // at-block-edge
		-1.34, // irregular
		-3.22, // may-be-several
		-1.03, // occluded
		-1.00, // open-roof
		-1.00, // sparse
		-1.00, // tent-like
		-1.14, // vegetation
		-1.00, // vehicle-like
	}
}
