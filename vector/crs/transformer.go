package crs

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/twpayne/go-proj/v11"

	"quoin/vector"
)

// ErrBallpark says that there is no known relation between two datums, so
// that a transformation could be wrong by hundreds of metres.
var ErrBallpark = errors.New("no transformation between the datums is known")

// An Operation is what a Transformer does.
type Operation struct {
	// Name is PROJ's description, step by step.
	Name string
	// Accuracy is in metres; NaN when it is not on record.
	Accuracy float64
	// Better tells of a clearly more accurate operation for which a grid is
	// not installed; empty when there is none.
	Better string
	// Ballpark is set when the datums are taken for the same because nothing
	// is known of how they lie.
	Ballpark bool
	// Null is set when the datums differ and coordinates are taken over
	// unchanged all the same: good to the accuracy on record, a metre or two,
	// and never to a centimetre.
	Null bool
	// From and To name the datums with their realisation, and the frame
	// reference epoch of one that moves with its plate's motion.
	From, To string
}

// String says the operation in one sentence: what is done, between which
// realisations, and how good that is.
func (o Operation) String() string {
	text := fmt.Sprintf("%s, from %s to %s, ", o.Name, o.From, o.To)
	switch {
	case o.Ballpark:
		text += "with nothing known of how they lie to each other (ballpark: off by up to hundreds of metres)"
	case math.IsNaN(o.Accuracy):
		text += "accuracy not on record"
	case o.Accuracy == 0:
		text += "exact by definition"
	default:
		text += fmt.Sprintf("accuracy %g m", o.Accuracy)
	}
	if o.Null {
		text += "; the realisations are taken for the same (null transformation)"
	}
	if o.Better != "" {
		text += "; " + o.Better
	}
	return text
}

// Options govern a Transformer.
type Options struct {
	// AllowBallpark accepts an operation without knowledge of the datums;
	// Operation tells of it. Without it such a pair is ErrBallpark.
	AllowBallpark bool
}

// A Transformer transforms positions from one CRS to another. It is not safe
// for concurrent use: each goroutine makes its own.
//
// One operation is chosen, at one place, and used everywhere: choosing anew for
// each position would tear a block apart where two operations meet.
type Transformer struct {
	from, to  vector.CRS
	pj        *proj.PJ
	operation Operation
}

// WGS84 is the CRS of RFC 7946: longitude and latitude in degrees.
func WGS84() vector.CRS {
	return vector.CRS{Name: "WGS 84", Kind: vector.GeographicCRS, Authority: epsg, Code: 4326}
}

// NewTransformer returns the transformer between two known CRSs that is best
// at a place, given in from.
func NewTransformer(from, to vector.CRS, at orb.Point, o Options) (*Transformer, error) {
	t := &Transformer{from: from, to: to}
	if err := t.choose(at); err != nil {
		return nil, fmt.Errorf("crs: from %s to %s: %w", from, to, err)
	}
	if t.operation.Ballpark && !o.AllowBallpark {
		return nil, fmt.Errorf("crs: from %s to %s: %w", from, to, ErrBallpark)
	}
	return t, nil
}

func (t *Transformer) choose(at orb.Point) error {
	source, err := planeText(t.from)
	if err != nil {
		return err
	}
	target, err := planeText(t.to)
	if err != nil {
		return err
	}
	// PROJ objects outlive neither their context nor each other's use of it:
	// the context is this transformer's own.
	context := proj.NewContext()
	candidates, err := context.NewCRSToCRS(source, target, nil)
	if err != nil {
		return err
	}
	if candidates, err = candidates.NormalizeForVisualization(); err != nil {
		return err
	}
	if _, err := transform(candidates, at); err != nil {
		return err
	}
	if t.pj, err = candidates.GetLastUsedOperation(); err != nil {
		return err
	}
	info := t.pj.Info()
	t.operation = Operation{Name: info.Description, Accuracy: info.Accuracy, Ballpark: t.pj.HasBallparkTransformation()}
	if info.Accuracy < 0 {
		t.operation.Accuracy = math.NaN()
	}
	t.operation.From, t.operation.To = datums(t.from, t.to)
	t.operation.Null = t.operation.From != t.operation.To && !moves(info.Definition)
	if place, ok := t.degrees(context, source, at); ok {
		t.operation.Better = better(t.from, t.to, place, t.operation)
	}
	return nil
}

// degrees returns a place in longitude and latitude, good enough to look up
// which operations are made for it.
func (t *Transformer) degrees(context *proj.Context, source string, at orb.Point) (place orb.Point, ok bool) {
	if t.from.Kind == vector.GeographicCRS {
		return at, true
	}
	if t.to.Kind == vector.GeographicCRS {
		place, err := transform(t.pj, at)
		return place, err == nil
	}
	rough, err := context.NewCRSToCRS(source, "EPSG:4326", nil)
	if err != nil {
		return place, false
	}
	if rough, err = rough.NormalizeForVisualization(); err != nil {
		return place, false
	}
	place, err = transform(rough, at)
	return place, err == nil
}

// planeText returns the horizontal definition in the form that PROJ takes
// with nothing lost.
func planeText(c vector.CRS) (string, error) {
	if !c.Known() {
		return "", errors.New("the CRS is unknown: name it")
	}
	wkt, err := Definition(c, WKT2)
	return wkt, errors.Unwrap(err)
}

// Operation returns what is done to coordinates, and how accurate that is.
func (t *Transformer) Operation() Operation { return t.operation }

// Forward transforms a position.
func (t *Transformer) Forward(p orb.Point) (orb.Point, error) {
	q, err := transform(t.pj, p)
	if err != nil {
		return q, fmt.Errorf("crs: transform %g, %g from %s to %s: %w", p[0], p[1], t.from, t.to, err)
	}
	return q, nil
}

// Inverse transforms a position back.
func (t *Transformer) Inverse(p orb.Point) (orb.Point, error) {
	c, err := t.pj.Inverse(proj.Coord{p[0], p[1]})
	q := orb.Point{c[0], c[1]}
	if err = checked(q, err); err != nil {
		return q, fmt.Errorf("crs: transform %g, %g from %s to %s: %w", p[0], p[1], t.to, t.from, err)
	}
	return q, nil
}

var errOutside = errors.New("the position is outside of what can be transformed")

func transform(pj *proj.PJ, p orb.Point) (orb.Point, error) {
	c, err := pj.Forward(proj.Coord{p[0], p[1]})
	q := orb.Point{c[0], c[1]}
	return q, checked(q, err)
}

func checked(q orb.Point, err error) error {
	if err != nil {
		return err
	}
	if math.IsInf(q[0], 0) || math.IsInf(q[1], 0) || math.IsNaN(q[0]) || math.IsNaN(q[1]) {
		return errOutside
	}
	return nil
}
