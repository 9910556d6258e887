package imagecheck

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// Rows returns the buildings as a layer holds them, in the units of its CRS.
func (r *Result) Rows() []vector.ImageCheck {
	rows := make([]vector.ImageCheck, len(r.Buildings))
	for i, b := range r.Buildings {
		length := func(m Metres) float64 { return float64(m) / r.Unit }
		rows[i] = vector.ImageCheck{
			BuildingID: b.ID, At: orb.Point(b.At), DeltaE: length(b.East), DeltaN: length(b.North),
			SigmaE: length(b.SigmaEast), SigmaN: length(b.SigmaNorth), BesideE: length(b.BesideEast), BesideN: length(b.BesideNorth),
			RotationDeg: float64(b.Rotation) * 180 / math.Pi, SizeBias: length(b.Size), SigmaSize: length(b.SigmaSize),
			Residual: length(b.Residual), EdgesSeen: b.Seen, Edges: b.Edges, Agreement: string(b.Agreement),
		}
	}
	return rows
}
