package imagecheck

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// An Edge is one straight line of the layer.
type Edge struct {
	From orb.Point `json:"from"`
	To   orb.Point `json:"to"`
	// Building names what the edge is part of; Ring and Number say which edge of
	// it, as in the layer of sides.
	Building string `json:"building_id"`
	Ring     int    `json:"ring"`
	Number   int    `json:"edge"`
	// Outline is set when the building lies to the left of the edge. Only such
	// edges tell of size.
	Outline bool `json:"-"`
	// Height is that of the edge above the ground in metres; NaN when unknown.
	Height float64 `json:"-"`
	// Heights are those along the edge, at equal distances from one end to the
	// other, where they are known: the verge of a gable rises and falls. Less than
	// two say nothing, and one that is no number makes all of them unknown.
	Heights []float64 `json:"-"`
}

// EdgesOf returns the edges of a polygon. Rings are taken as they should be
// oriented, whatever way they run: the building lies to the left of each edge.
// Edges without length, and coordinates that are no numbers, are passed over.
func EdgesOf(id string, polygon orb.Polygon, height float64) []Edge {
	var edges []Edge
	for k, ring := range polygon {
		n := len(ring)
		if n > 1 && ring[0] == ring[n-1] {
			n--
		}
		left := (twiceArea(ring[:n]) > 0) == (k == 0)
		for i := range n {
			e := Edge{From: ring[i], To: ring[(i+1)%n], Building: id, Ring: k, Number: i, Outline: n > 2, Height: height}
			if !left {
				e.From, e.To = e.To, e.From
			}
			if e.sound() {
				edges = append(edges, e)
			}
		}
	}
	return edges
}

// LinesOf returns the parts of a line.
func LinesOf(id string, line orb.LineString, height float64) []Edge {
	var edges []Edge
	for i := range max(len(line)-1, 0) {
		e := Edge{From: line[i], To: line[i+1], Building: id, Number: i, Height: height}
		if e.sound() {
			edges = append(edges, e)
		}
	}
	return edges
}

// heightAt returns the height at a part of the way from one end to the other; NaN
// when unknown.
func (e *Edge) heightAt(part float64) float64 {
	n := len(e.Heights)
	if n < 2 || slices.ContainsFunc(e.Heights, math.IsNaN) {
		return e.Height
	}
	x := min(max(part, 0), 1) * float64(n-1)
	i := min(int(x), n-2)
	return e.Heights[i] + (x-float64(i))*(e.Heights[i+1]-e.Heights[i])
}

// meanHeight returns the height of an edge in the mean of its length; NaN when
// unknown.
func (e *Edge) meanHeight() float64 {
	const places = 32
	sum := 0.0
	for i := range places {
		sum += e.heightAt((float64(i)+0.5)/places) / places
	}
	return sum
}

func (e *Edge) sound() bool {
	l := math.Hypot(e.To[0]-e.From[0], e.To[1]-e.From[1])
	return l > 0 && !math.IsInf(l, 0) && !math.IsNaN(l)
}

// twiceArea is positive for a ring that runs counter-clockwise.
func twiceArea(ring []orb.Point) float64 {
	sum := 0.0
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		o := ring[0] // no large coordinates in the products
		sum += (p[0]-o[0])*(q[1]-o[1]) - (q[0]-o[0])*(p[1]-o[1])
	}
	return sum
}
