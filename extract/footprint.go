package extract

import (
	"crypto/sha256"
	"encoding/base32"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/vector"
)

// buildingID names a building by the lowest, then leftmost, square metre of
// the CRS's own grid that its roof covers: the same place gives the same name
// whatever else is in the block.
func buildingID(crs vector.CRS, frame cloud.Frame, shape *roofShape) string {
	row, col := int64(math.MaxInt64), int64(math.MaxInt64)
	for _, i := range shape.points {
		p := &shape.block.Points[i]
		r := int64(math.Floor(p.North())) + int64(frame.OriginN)
		c := int64(math.Floor(p.East())) + int64(frame.OriginE)
		if r < row || r == row && c < col {
			row, col = r, c
		}
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%s %d %d", crs, row, col))
	return strings.ToLower(base32.StdEncoding.EncodeToString(sum[:]))[:10]
}

func mean(values []float64) float64 {
	var sum float64
	for _, v := range values {
		sum += v
	}
	return sum / float64(len(values))
}

// quantile returns the value below which the given share lies; NaN of none.
// The values are sorted in place.
func quantile(values []float64, share float64) float64 {
	if len(values) == 0 {
		return math.NaN()
	}
	slices.Sort(values)
	return values[min(int(share*float64(len(values))), len(values)-1)]
}

// corners turns the vertices of a plan into corners in CRS units. Building
// and position in the ring are filled in by the caller. The variance of a
// median of n is π/2n that of one (for large n; Kendall & Stuart).
func corners(frame cloud.Frame, shape *roofShape, m cloud.Measures, vertices []outline.Vertex) []vector.Corner {
	h, v := frame.Horizontal, frame.Vertical
	list := make([]vector.Corner, len(vertices))
	for i, p := range vertices {
		c := vector.Corner{
			Point:  frame.ToCRS(p.X, p.Y),
			SigmaE: math.Sqrt(p.CovXX) / h, SigmaN: math.Sqrt(p.CovYY) / h, CovEN: p.CovXY / (h * h),
			Elevation: math.NaN(), SigmaU: math.NaN(),
			AngleDeg: p.Angle * 180 / math.Pi, Kind: vector.Adjusted,
		}
		if p.Kind == outline.Extended {
			c.Kind = vector.Extended
		} else if p.Kind == outline.Round {
			c.Kind = vector.Round
		}
		if k, _ := shape.nearest(p.X, p.Y); k >= 0 {
			g := shape.slopeAt(k)
			tilt := g.gx*g.gx*p.CovXX + 2*g.gx*g.gy*p.CovXY + g.gy*g.gy*p.CovYY
			c.Elevation = shape.elevation(p.X, p.Y) / v
			c.SigmaU = math.Sqrt(m.SigmaZ*m.SigmaZ*math.Pi/2/edgeVotes+max(tilt, 0)) / v
		}
		list[i] = c
	}
	return list
}

// polygon returns the rings of a plan in CRS units, closed.
func polygon(frame cloud.Frame, rings []outline.Ring) orb.Polygon {
	p := make(orb.Polygon, len(rings))
	for r, ring := range rings {
		for _, v := range ring.Vertices {
			p[r] = append(p[r], frame.ToCRS(v.X, v.Y))
		}
		p[r] = append(p[r], p[r][0])
	}
	return p
}
