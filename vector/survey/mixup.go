package survey

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
	"quoin/vector/crs"
)

// anyInside reports whether a point lies in the block, widened by a tenth.
func anyInside(points []control.Point, block orb.Bound) bool { return inside(points, block, same) > 0 }

func same(p orb.Point) orb.Point { return p }

// inside counts the points that a change puts into the block, widened by a
// tenth of its larger side.
func inside(points []control.Point, block orb.Bound, change func(orb.Point) orb.Point) int {
	wide := block.Pad(math.Max(block.Right()-block.Left(), block.Top()-block.Bottom()) / 10)
	n := 0
	for _, p := range points {
		if wide.Contains(change(p.XY())) {
			n++
		}
	}
	return n
}

// enough is the share of points that an explanation must put into the block.
const enough = 0.5

// mixUp explains why no point lies in the block: empty when nothing does. The
// explanations are tried from the simplest on.
// raw are the points as the file has them.
func mixUp(points, raw []control.Point, o Options) string {
	explains := func(change func(orb.Point) orb.Point) bool {
		return float64(inside(points, o.Block, change)) > enough*float64(len(points))
	}
	for _, swap := range []bool{false, true} {
		for _, u := range unitMixUps() {
			change := func(p orb.Point) orb.Point {
				if swap {
					p[0], p[1] = p[1], p[0]
				}
				return orb.Point{p[0] * u.factor, p[1] * u.factor}
			}
			if !explains(change) {
				continue
			}
			var found []string
			if swap {
				found = append(found, "northing and easting are swapped")
			}
			if u.text != "" {
				found = append(found, u.text)
			}
			if len(found) > 0 {
				return strings.Join(found, " and ")
			}
		}
	}
	if text := wrongZone(raw, o); text != "" {
		return text
	}
	return groundScale(points, o)
}

// groundScale tells coordinates of the ground from those of the grid: they are
// the grid's through the combined factor, from the origin of the CRS on. That
// factor is within a thousandth of 1 for the projections of surveys.
func groundScale(points []control.Point, o Options) string {
	for _, swap := range []bool{false, true} {
		mean := orb.Point{}
		for _, p := range points {
			mean[0] += p.East / float64(len(points))
			mean[1] += p.North / float64(len(points))
		}
		turn := func(p orb.Point) orb.Point {
			if swap {
				return orb.Point{p[1], p[0]}
			}
			return p
		}
		m, c := turn(mean), o.Block.Center()
		factor := (m[0]*c[0] + m[1]*c[1]) / (m[0]*m[0] + m[1]*m[1])
		if !(math.Abs(factor-1) < mostScale) {
			continue
		}
		n := inside(points, o.Block, func(p orb.Point) orb.Point {
			q := turn(p)
			return orb.Point{q[0] * factor, q[1] * factor}
		})
		if float64(n) > enough*float64(len(points)) {
			return fmt.Sprintf("they do when they are scaled by about %.5f about the origin: ground coordinates are taken for grid coordinates; bring them to the grid with the combined factor that they were made with", factor)
		}
	}
	return ""
}

// mostScale is how far a combined factor lies from 1 at most.
const mostScale = 1e-3

type unitMixUp struct {
	factor float64
	text   string
}

// unitMixUps are the factors between units that are mixed up. The two feet are
// no case: they differ by metres at most, which no bound can tell.
func unitMixUps() []unitMixUp {
	foot, metre := vector.Foot.Metres, 1/vector.Foot.Metres
	return []unitMixUp{
		{1, ""},
		{foot, "the points are in feet and are read as metres (a factor of 0.3048): give --control-unit ft or usft"},
		{metre, "the points are in metres and are read as feet (a factor of 1/0.3048): give --control-unit m"},
		{1000, "the points are in kilometres"},
		{0.001, "the points are in millimetres"},
	}
}

// zones is how far the codes of neighbouring zones lie apart at most: the EPSG
// dataset numbers the zones of a system in a row (common practice, no source).
const zones = 4

// wrongZone looks among the CRSs with neighbouring codes for one in which the
// points would lie in the block.
func wrongZone(points []control.Point, o Options) string {
	c := o.ControlCRS
	if !c.Known() {
		c = o.CRS
	}
	if c.Code == 0 || c.Authority != "EPSG" {
		return ""
	}
	for step := 1; step <= zones; step++ {
		for _, code := range []int{c.Code - step, c.Code + step} {
			other, err := crs.Parse(fmt.Sprintf("EPSG:%d", code))
			if err != nil || other.Kind != vector.ProjectedCRS || other.Horizontal != c.Horizontal {
				continue
			}
			if explainsZone(points, o, other) {
				return fmt.Sprintf("the points lie in it in %s (%s): a wrong zone; give --control-crs %s", other, other.Name, other)
			}
		}
	}
	return ""
}

func explainsZone(points []control.Point, o Options, other vector.CRS) bool {
	t, err := crs.NewTransformer(o.CRS, other, o.Block.Center(), crs.Options{})
	if err != nil {
		return false
	}
	centre, err := t.Forward(o.Block.Center())
	if err != nil {
		return false
	}
	// Points that are nowhere near are not worth a transformation.
	reach := math.Hypot(o.Block.Right()-o.Block.Left(), o.Block.Top()-o.Block.Bottom())
	n := 0
	for _, p := range points {
		if math.Hypot(p.East-centre[0], p.North-centre[1]) > reach {
			continue
		}
		if q, err := t.Inverse(p.XY()); err == nil && inside([]control.Point{{East: q[0], North: q[1]}}, o.Block, same) == 1 {
			n++
		}
	}
	return float64(n) > enough*float64(len(points))
}
