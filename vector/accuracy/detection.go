package accuracy

import "math"

// A SizeClass is a range of areas in square metres, the upper limit left out.
type SizeClass struct {
	Name      string
	Low, High float64
}

// SizeClasses lists the classes that objects are counted by; the last holds
// all. They go by an object's own area: the true one for completeness, the
// delivered one for correctness.
func SizeClasses() []SizeClass {
	return []SizeClass{
		{"6–10 m²", 6, 10},
		{"10–50 m²", 10, 50},
		{"≥ 50 m²", 50, math.Inf(1)},
		{"all", 0, math.Inf(1)},
	}
}

// A Detection counts the objects of a size class.
type Detection struct {
	Class SizeClass
	// Completeness is the share of the reference's objects that were found,
	// Correctness that of the delivered ones that are there.
	Completeness, Correctness Share
}

// Quality returns true positives over these, false negatives and false
// positives: 1/Q = 1/completeness + 1/correctness - 1 (Rottensteiner et al.,
// ISPRS Journal 93, 2014, 256-271). NaN where there is nothing.
func (d Detection) Quality() float64 {
	completeness, correctness := d.Completeness.Value(), d.Correctness.Value()
	if completeness == 0 || correctness == 0 {
		return 0
	}
	return 1 / (1/completeness + 1/correctness - 1)
}

func detections(blocks []Block) []Detection {
	var all []Detection
	for _, class := range SizeClasses() {
		d := Detection{Class: class}
		within := func(o Object) bool { return o.Area >= class.Low && o.Area < class.High }
		for _, b := range blocks {
			for _, o := range b.Reference {
				if within(o) {
					d.Completeness.add(o.Found)
				}
			}
			for _, o := range b.Delivered {
				if within(o) {
					d.Correctness.add(o.Found)
				}
			}
		}
		all = append(all, d)
	}
	return all
}

// False returns the delivered objects that are not there.
func (b *Block) False() []Object {
	var all []Object
	for _, o := range b.Delivered {
		if !o.Found {
			all = append(all, o)
		}
	}
	return all
}

// Missed returns the reference's objects that were not found.
func (b *Block) Missed() []Object {
	var all []Object
	for _, o := range b.Reference {
		if !o.Found {
			all = append(all, o)
		}
	}
	return all
}
