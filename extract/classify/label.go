package classify

import "quoin/extract/cloud"

// judged reports whether a class is one that Classes decides on. All others
// say what is not looked at here, or were given by hand, and stay: key points
// (8), water, rail, road (9 to 11), overlap (12), wires and towers (13 to 16),
// 19 to 22, and what is reserved or the user's own.
func judged(class uint8) bool { return class <= Building }

// A Labeller gives the points of a file the classes of the block's points.
type Labeller struct {
	Block   *cloud.Block
	Classes []uint8
	lowest  float64
	// Counts are the numbers of points written by class.
	Counts [256]uint64
	// Kept is the number of points whose class was left as it was.
	Kept uint64
}

// NewLabeller returns a labeller for a block and the classes of its points.
func NewLabeller(b *cloud.Block, classes []uint8) *Labeller {
	l := &Labeller{Block: b, Classes: classes}
	for i := range b.Points {
		if up := b.Points[i].Up(); i == 0 || up < l.lowest {
			l.lowest = up
		}
	}
	return l
}

// Label sets the classes of a batch. Withheld points, noise that is classed as
// such and was left out of the block for it, and classes that are not judged
// stay. What the block left out as far
// away from all else is noise: low where it is below everything, else high.
func (l *Labeller) Label(points *cloud.Batch, classes []uint8) {
	for i, class := range classes {
		k, found := l.Block.Find(points.X[i], points.Y[i], points.Z[i])
		noise := class == LowNoise || class == HighNoise
		switch {
		case points.Flags[i]&cloud.Withheld != 0, noise && !found, !noise && !judged(class):
			l.Kept++
		case found:
			classes[i] = l.Classes[k]
		case points.Z[i]*l.Block.Frame.Vertical < l.lowest:
			classes[i] = LowNoise
		default:
			classes[i] = HighNoise
		}
		l.Counts[classes[i]]++
	}
}
