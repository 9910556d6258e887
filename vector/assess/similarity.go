package assess

import (
	"errors"
	"math"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/stat/distuv"
)

// A Similarity is a transformation of the plane, X = a·x − b·y and Y = b·x +
// a·y about two middles, from least squares.
type Similarity struct {
	A, B float64
	// From and To are the middles of the points on both sides.
	From, To orb.Point
	// S0 is the standard error of one coordinate after the fit, with DoF
	// degrees of freedom; NaN without any.
	S0  float64
	DoF int
	// SigmaAB is the standard error of A and of B, SigmaShift that of To on
	// each axis.
	SigmaAB, SigmaShift float64
	// P is the chance of a scale and rotation as large as these, taken
	// together, where there are none (F test); NaN without degrees of freedom.
	P float64
}

// ErrTooFew says that there are too few points, or all in one place.
var ErrTooFew = errors.New("too few points, or all in one place")

// FitSimilarity returns the similarity that takes one set of points to another
// with the least sum of squares; at least two points apart are needed. (Four
// parameters, about the middles, as in any textbook of adjustment.)
func FitSimilarity(from, to []orb.Point) (Similarity, error) {
	n := float64(len(from))
	if len(from) < 2 || len(from) != len(to) {
		return Similarity{}, ErrTooFew
	}
	s := Similarity{From: middle(from), To: middle(to), DoF: 2*len(from) - 4}
	var size, shiftOnly float64
	for i := range from {
		x, y := from[i][0]-s.From[0], from[i][1]-s.From[1]
		tx, ty := to[i][0]-s.To[0], to[i][1]-s.To[1]
		s.A += x*tx + y*ty
		s.B += x*ty - y*tx
		size += x*x + y*y
		shiftOnly += (tx-x)*(tx-x) + (ty-y)*(ty-y)
	}
	if size == 0 {
		return Similarity{}, ErrTooFew
	}
	s.A, s.B = s.A/size, s.B/size
	var sum float64
	for i := range from {
		q := s.Apply(from[i])
		sum += (q[0]-to[i][0])*(q[0]-to[i][0]) + (q[1]-to[i][1])*(q[1]-to[i][1])
	}
	s.S0, s.P = math.NaN(), math.NaN()
	if s.DoF > 0 {
		dof := float64(s.DoF)
		s.S0 = math.Sqrt(sum / dof)
		s.P = distuv.F{D1: 2, D2: dof}.Survival(max(shiftOnly-sum, 0) / 2 / (sum / dof))
	}
	s.SigmaAB, s.SigmaShift = s.S0/math.Sqrt(size), s.S0/math.Sqrt(n)
	return s, nil
}

// Apply transforms a position.
func (s Similarity) Apply(p orb.Point) orb.Point {
	x, y := p[0]-s.From[0], p[1]-s.From[1]
	return orb.Point{s.To[0] + s.A*x - s.B*y, s.To[1] + s.B*x + s.A*y}
}

// Scale returns the factor of lengths.
func (s Similarity) Scale() float64 { return math.Hypot(s.A, s.B) }

// Rotation returns the angle in radians, anticlockwise.
func (s Similarity) Rotation() float64 { return math.Atan2(s.B, s.A) }

func middle(points []orb.Point) orb.Point {
	var m orb.Point
	for _, p := range points {
		m[0] += p[0] / float64(len(points))
		m[1] += p[1] / float64(len(points))
	}
	return m
}
