package roof

import (
	"math"
	"slices"

	"quoin/extract/cloud"
	"quoin/vector"
)

// A Kind is what a return was taken for.
type Kind uint8

const (
	// Unknown is a return that says nothing: of unknown height, blended
	// between a roof and what is below it, or unexplained.
	Unknown Kind = iota
	// Ground is a return less than half a metre above the ground.
	Ground
	// Roof is a return on the roof of a building, the edge included.
	Roof
	// Clutter is a return just above a roof that is not part of its surface:
	// an aerial, a rail, foliage close to it.
	Clutter
	// Wall is a return below the edge of a roof beside or under it.
	Wall
	// Vegetation is a return from what is rough and above ground.
	Vegetation
	// Object is a return from anything else above ground.
	Object
	// Deck is a return from a bridge.
	Deck
)

// A Building is a set of roofs that stand together, and its measures.
type Building struct {
	// Roof holds the indices in the block of all roof returns, those at the
	// edge included, in canonical order.
	Roof []int32
	// Surface has one entry for each of Roof: the smooth surface that it is on,
	// by its place in Planes, -1 for none.
	Surface []int32
	// Planes are its smooth surfaces, the largest first.
	Planes []Plane
	// First is the lowest, then leftmost square metre of the frame's own grid
	// that holds a roof return.
	First Cell
	// Area is the area of the roof as seen from above.
	Area float64
	// GroundElev is the median elevation of the ground at the roof's edge.
	GroundElev float64
	// EaveHeight and RidgeHeight are above GroundElev: the lower quartile of
	// the roof's edge, and what all but the highest hundredth lies below.
	EaveHeight, RidgeHeight float64
	// Penetration is the share of returns inside the outline that lie well
	// below the roof.
	Penetration float64
	// Vegetation is the share of the edge that vegetation covers or touches.
	Vegetation float64
	// Reasons say why a person should look at it, in alphabetical order.
	Reasons []vector.Reason

	stack *stack // where it may be a block of containers
}

// A Plane is one smooth surface of a roof.
type Plane struct {
	// GradX and GradY are the mean gradient, metres per metre to the east and
	// the north; the roof falls the other way.
	GradX, GradY float64
	// X, Y and Z are its middle.
	X, Y, Z float64
	// Area is that seen from above.
	Area float64
	// Points is the number of returns on it.
	Points int
	// Rough is the root mean square residual about the local surface.
	Rough float64
}

// Held is something above ground that was not taken for a building.
type Held struct {
	// Cells are the squares of the mask that it covers, by row, then column.
	Cells  []Cell
	Reason vector.Reason
	// Height is the median height above ground.
	Height float64
	Area   float64
	Points int
}

// A Segmentation is what was found in one cluster.
type Segmentation struct {
	Buildings []Building
	Held      []Held
	// Points are the returns of the cluster and of the cells around it, in
	// canonical order; no two clusters share one. Kinds and Of tell for each
	// what it was taken for and the building it is a roof return of, -1 for
	// none.
	Points []int32
	Kinds  []Kind
	Of     []int32

	vehicles []place // what certainly is a truck or a container
}

// Segment takes one cluster apart. features are those of all points of the
// block, as Describe gave them.
//
// The result is a pure function of the points in and next to the cluster.
// Buildings are in the order of their first roof return. Time is close to
// linear in the points.
func Segment(b *cloud.Block, hag []float32, features []Feature, c Cluster, w Work) Segmentation {
	s := newSegmenter(b, hag, features, c, w)
	s.findSurfaces()
	s.makePatches()
	s.measureSurfaces()
	s.fillFacets()
	s.cutSurfaces()
	s.assemble()
	s.label()
	return s.result()
}

// Work is what governs the work on a cluster.
type Work struct {
	Measures cloud.Measures
	Options  Options
}

// A segmenter holds the state of the work on one cluster.
type segmenter struct {
	block    *cloud.Block
	hag      []float32
	features []Feature
	limits   limits
	options  Options

	grid  cloud.Grid
	zone  []uint8   // of each cell: 0 outside, 1 next to the cluster, 2 in it
	ids   []int32   // all points of the zone, canonical order
	depth []float32 // lower quartile of the elevations in each cell, +Inf for none
	high  []int32   // positions in ids of the points above ground

	group    []int32 // of each high point its surface, -1 for none
	lies     []lie   // of each high point how its surface runs about it
	grown    []bool  // of each high point whether it joined its surface later: it tells where that runs, not what it is
	surfaces []smooth
	parent   []int32           // of each surface the one that it was severed from, -1 for none
	apart    map[[2]int32]bool // pairs of surfaces on either side of a step carried on
	patches  []patch
	first    []int32 // patches of a cell are patches[first[cell]:first[cell+1]]
	full     float64 // points of a surface in a cell that it fills
	pierced  float64 // share of the cells inside roofs that show what is below

	part  []int32 // of each surface its building, -1 for none
	of    []int32 // of each high point its building, -1 for none
	kinds []Kind  // of each high point
	units int     // number of buildings
}

func newSegmenter(b *cloud.Block, hag []float32, features []Feature, c Cluster, w Work) *segmenter {
	s := &segmenter{block: b, hag: hag, features: features, limits: limitsOf(w.Measures), options: w.Options}
	s.grid = cloud.NewGrid(c.Bounds.Pad(3*s.limits.cell), s.limits.cell) // neighbours' neighbours of the zone are cells
	s.zone = make([]uint8, s.grid.Len())
	for _, r := range c.Runs {
		row := int(r.Row) - s.grid.Row0
		for col := int(r.Lo) - s.grid.Col0; col < int(r.Hi)-s.grid.Col0; col++ {
			s.mark(row, col)
		}
	}
	s.collect()
	return s
}

// mark puts a cell and those around it into the zone.
func (s *segmenter) mark(row, col int) {
	for r := row - 1; r <= row+1; r++ {
		for c := col - 1; c <= col+1; c++ {
			i := r*s.grid.Cols + c
			s.zone[i] = max(s.zone[i], 1)
		}
	}
	s.zone[row*s.grid.Cols+col] = 2
}

// collect finds the points of the zone.
func (s *segmenter) collect() {
	for _, r := range runs(s.grid, func(cell int) bool { return s.zone[cell] > 0 }) {
		for i := range s.block.In(r.rect(s.grid.Cell)) {
			s.ids = append(s.ids, int32(i))
		}
	}
	slices.Sort(s.ids)
	for k, id := range s.ids {
		if s.features[id].Above() {
			s.high = append(s.high, int32(k))
		}
	}
	s.measureDepth()
}

// measureDepth finds the lower quartile of the elevations in each cell, which
// a few returns through a roof of glass do not reach.
func (s *segmenter) measureDepth() {
	start := make([]int32, s.grid.Len()+1)
	cells := make([]int32, len(s.ids))
	for k, id := range s.ids {
		cells[k] = int32(s.cellOf(id))
		start[cells[k]+1]++
	}
	for c := range s.grid.Len() {
		start[c+1] += start[c]
	}
	ups := make([]float32, len(s.ids))
	next := slices.Clone(start)
	for k, id := range s.ids {
		ups[next[cells[k]]] = float32(s.block.Points[id].Up())
		next[cells[k]]++
	}
	s.depth = make([]float32, s.grid.Len())
	for c := range s.depth {
		s.depth[c] = float32(math.Inf(1))
		if in := ups[start[c]:start[c+1]]; len(in) > 0 {
			slices.Sort(in)
			s.depth[c] = in[len(in)/4]
		}
	}
}

// cellOf returns the cell of a point of the zone.
func (s *segmenter) cellOf(id int32) int {
	p := &s.block.Points[id]
	c, _ := s.grid.Index(p.East(), p.North())
	return c
}

// id returns the index in the block of a high point.
func (s *segmenter) id(high int32) int32 { return s.ids[s.high[high]] }

func (s *segmenter) feature(high int32) Feature { return s.features[s.id(high)] }
