// Package accuracy scores a layer of building outlines against a reference.
//
// Score compares the delivered footprints of one block with the reference and
// returns what was measured building by building, corner by corner, side by
// side. Summarise pools any number of blocks into the figures of a table. What
// each figure means, and by which rule things are counted, is told at its
// field; docs/accuracy.md says the same for readers of the tables.
//
// Coordinates are plane and in metres. Nothing here knows how outlines came
// to be.
package accuracy

import (
	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Block is what Score measured on one block. Lengths are metres.
type Block struct {
	// Spacing is that of the cloud, from the options.
	Spacing float64
	// Reference and Delivered are the objects that count, in the order given.
	Reference, Delivered []Object
	// The areas of both layers and of what they have in common, ignored
	// buildings left out.
	ReferenceArea, DeliveredArea, CommonArea float64
	// Pairs are the buildings found and told apart, in the reference's order.
	Pairs []Pair
	// Merged are the footprints that hold half or more of several buildings
	// each, of those that hold half of one; Divided the buildings of which
	// several footprints have half their own area or more, of those found.
	Merged, Divided Share
	// Corners is the number of the reference's sharp corners, of buildings
	// without a pair too.
	Corners int
	// Shift is the mean offset of the block's corners, delivered less
	// reference: that of the cloud's georeferencing, for which outlines are
	// not to blame. It is the mean of those within three times the median
	// distance from the median; Shifted is false, and Shift zero, where fewer
	// than 12 corners on three buildings tell it.
	Shift   orb.Point
	Shifted bool
	// Invalid counts delivered outlines that are no valid polygon, Overlaps
	// the pairs that overlap, OverlapArea the area they have in common.
	Invalid, Overlaps int
	OverlapArea       float64
	PartyWalls        []PartyWall
}

// An Object is one building of a layer.
type Object struct {
	// Index is that in its layer.
	Index    int
	ID, Kind string
	Area     float64
	// Found is set when the other layer covers half of its area or more
	// (Rutzinger, Rottensteiner and Pfeifer, IEEE JSTARS 2(1), 2009, 11-20).
	Found bool
	// Quality is that stated of a delivered one.
	Quality float64
}

// A Pair is a building of the reference and the footprint of the same
// building: those whose IoU is above one half, of which there is one at most.
type Pair struct {
	// Reference and Delivered are the indices in the layers.
	Reference, Delivered int
	ID, Kind             string
	Area                 float64
	// BoundaryIoU is that of the inner bands of half a metre's width along
	// both boundaries (Cheng et al., CVPR 2021).
	IoU, BoundaryIoU, PoLiS, Hausdorff float64
	// Exact is set when every corner has its partner, none is extra, and the
	// number of rings is right.
	Exact bool
	// Corners are those matched. Missing are the reference's without a
	// partner, Extra the delivered ones. Round parts count nowhere.
	Corners []Corner
	Missing []orb.Point
	Extra   []orb.Point
	Sides   []Side
	Walls   []WallLine
	// Ground, Eave and Ridge are elevations, delivered less true; NaN when
	// either is unknown.
	Ground, Eave, Ridge float64
	// LowestGround, HighestGround and HighestPoint are, too.
	LowestGround, HighestGround, HighestPoint float64
	// TrueRoof and Roof are the true and the delivered type of the roof.
	TrueRoof, Roof vector.RoofType
	Quality        float64
	Review         []vector.Reason
	// Right is set when IoU is 0.9 or more and every adjusted corner lies
	// within max(3 sigma, 2 spacings) of its partner.
	Right bool
}

// A Corner is a matched pair of corners.
type Corner struct {
	// At is the true place; Delta leads to the delivered one.
	At, Delta orb.Point
	// Up is the difference of elevations; NaN when unknown.
	Up                    float64
	SigmaE, SigmaN, CovEN float64
	SigmaU                float64
	Kind                  vector.CornerKind
	// Bend is by how many degrees the true outline turns here: 90 at a square
	// corner, little at a blunt one.
	Bend float64
	// Visible is the smaller visible share of the two sides that meet.
	Visible float64
}

// A Side is one side of the reference and what lies along it.
type Side struct {
	Length float64
	// Offset is how far outward the delivered boundary lies: the median over
	// the middle four fifths of the side. Shifted is the same less the
	// block's shift.
	Offset, Shifted float64
	// Turn is the direction error in degrees where both ends have matched
	// corners; NaN elsewhere.
	Turn    float64
	Visible float64

	outward orb.Point
}

// A PartyWall is a stretch of wall that two buildings of the reference share.
type PartyWall struct {
	A, B   string
	Length float64
	// Found is set when both are covered, Split when they are told apart.
	Found, Split bool
	// Gap is the largest distance along it between the two outlines; NaN
	// where one of them doesn't run there. Shared is set when it is none, to
	// the bit.
	Gap    float64
	Shared bool
}
