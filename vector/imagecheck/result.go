package imagecheck

import (
	"math"
	"strconv"
)

// A Number is written to JSON as null where it is not a number.
type Number float64

// MarshalJSON writes six significant digits.
func (n Number) MarshalJSON() ([]byte, error) {
	if v := float64(n); !math.IsNaN(v) && !math.IsInf(v, 0) {
		return strconv.AppendFloat(nil, v, 'g', 6, 64), nil
	}
	return []byte("null"), nil
}

// Metres is a length in metres.
type Metres = Number

// Result says how image and layer lie to each other. Lengths are metres; the
// image beside the layer, east and north.
type Result struct {
	Unit      float64    `json:"-"`
	PixelM    Metres     `json:"pixel_m"`
	Reach     Metres     `json:"searched_m"`
	SameCloud Dependence `json:"same_cloud"`

	// Centre is where rotation and scale add nothing to the shift: the middle of
	// the layer, in the CRS.
	Centre     [2]float64 `json:"centre"`
	East       Metres     `json:"shift_east_m"`
	North      Metres     `json:"shift_north_m"`
	SigmaEast  Metres     `json:"shift_east_sigma_m"`
	SigmaNorth Metres     `json:"shift_north_sigma_m"`
	// Rotation is counter-clockwise in radians, Scale the factor less 1; NaN with
	// too few buildings.
	Rotation      Number `json:"rotation_rad"`
	SigmaRotation Number `json:"rotation_sigma_rad"`
	Scale         Number `json:"scale_minus_1"`
	SigmaScale    Number `json:"scale_sigma"`
	// Size is by how much the image shows outlines further out than the layer has
	// them, on each side.
	Size      Metres `json:"size_bias_m"`
	SigmaSize Metres `json:"size_bias_sigma_m"`
	// Residual is the root mean square of edges about the fit.
	Residual Metres `json:"residual_m"`
	// LeastShift would have been seen on either axis in 95 of 100 cases.
	LeastShift Metres `json:"least_shift_seen_m"`
	Lean       Lean   `json:"lean"`

	// EdgesUsed and BuildingsUsed count those that the fit rests on.
	EdgesUsed     int        `json:"edges_used"`
	BuildingsUsed int        `json:"buildings_used"`
	Buildings     []Building `json:"buildings"`
	// Edges has an entry for each edge of the layer; nil in a short record.
	Edges []Measured `json:"edges,omitempty"`
}

// An Agreement says whether a building lies in the image as the block does.
type Agreement string

// The agreements, and what is wrong where there is none.
const (
	Agrees         Agreement = "agrees"
	NotSeen        Agreement = "not-seen"        // too few of its edges are seen
	ImageLean      Agreement = "image-lean"      // the image shows it leaning
	ImageSeam      Agreement = "image-seam"      // it and its neighbours lie off alike: a patch of the image does
	ImageShadow    Agreement = "image-shadow"    // its sunlit edges agree
	FootprintEdge  Agreement = "footprint-edge"  // one edge is off: it is wrong, or nothing of it is to be seen and something else beside it
	FootprintShift Agreement = "footprint-shift" // it is off as a whole, its neighbours are not
	FootprintSize  Agreement = "footprint-size"  // it is too large or too small
)

// Building says how one building lies in the image.
type Building struct {
	ID string `json:"building_id"`
	// At is the middle of its edges, in the CRS.
	At         [2]float64 `json:"at"`
	East       Metres     `json:"shift_east_m"`
	North      Metres     `json:"shift_north_m"`
	SigmaEast  Metres     `json:"shift_east_sigma_m"`
	SigmaNorth Metres     `json:"shift_north_sigma_m"`
	// BesideEast and BesideNorth are what remains beside the block's fit.
	BesideEast    Metres    `json:"beside_block_east_m"`
	BesideNorth   Metres    `json:"beside_block_north_m"`
	Rotation      Number    `json:"rotation_rad"`
	SigmaRotation Number    `json:"rotation_sigma_rad"`
	Size          Metres    `json:"size_bias_m"`
	SigmaSize     Metres    `json:"size_bias_sigma_m"`
	Scale         Number    `json:"scale_minus_1"`
	Residual      Metres    `json:"residual_m"`
	Height        Metres    `json:"height_m"`
	Seen          int       `json:"edges_seen"`
	Edges         int       `json:"edges"`
	Agreement     Agreement `json:"agreement"`
	// WorstEdge is the number of the edge that is out of line, in the order of
	// the building's edges; −1 for none.
	WorstEdge int `json:"worst_edge"`
}

// Measured says where the image has one edge.
type Measured struct {
	Edge
	// Offset is that of the image edge, outward, from the layer's; NaN when no
	// image edge is seen. Expected is what the fit of the block gives.
	Offset   Metres `json:"offset_m"`
	Sigma    Metres `json:"offset_sigma_m"`
	Expected Metres `json:"expected_m"`
	// Shaded is set where it is dark beyond the edge.
	Shaded bool `json:"shaded"`
	// Shared is set where another building adjoins: nothing is measured there.
	Shared bool `json:"shared"`
}
