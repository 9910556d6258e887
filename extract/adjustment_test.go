package extract_test

import (
	"context"
	"database/sql"
	"encoding/json"
	"math"
	"path/filepath"
	"testing"

	_ "modernc.org/sqlite"

	"quoin/extract"
	"quoin/extract/scene"
	"quoin/vector"
	"quoin/vector/gpkg"
)

// An adjusted outline is what the tables of a delivery say of one building.
type adjustedOutline struct {
	origin     [2]float64
	estimates  []float64
	covariance []float64 // packed
	directions int
	sides      []adjustedSide
	stated     []vector.Corner
	areaSigma  float64
}

type adjustedSide struct {
	ring, direction, offset int
	quarter                 int
	sigma                   float64
}

// corners lays the outline out by meeting lines, for any parameters.
func (a *adjustedOutline) corners(p []float64) [][2]float64 {
	line := func(s *adjustedSide) (nx, ny, d float64) {
		angle := p[s.direction] + float64(s.quarter)*math.Pi/2
		return math.Cos(angle), math.Sin(angle), p[a.directions+s.offset]
	}
	out := make([][2]float64, len(a.sides))
	for i := range a.sides {
		k := a.before(i)
		ax, ay, ad := line(&a.sides[k])
		bx, by, bd := line(&a.sides[i])
		det := ax*by - ay*bx
		out[i] = [2]float64{(ad*by - bd*ay) / det, (bd*ax - ad*bx) / det}
	}
	return out
}

func (a *adjustedOutline) before(i int) int {
	if i > 0 && a.sides[i-1].ring == a.sides[i].ring {
		return i - 1
	}
	for i+1 < len(a.sides) && a.sides[i+1].ring == a.sides[i].ring {
		i++
	}
	return i
}

func (a *adjustedOutline) after(i int) int {
	for k := range a.sides {
		if a.before(k) == i && a.sides[k].ring == a.sides[i].ring {
			return k
		}
	}
	return i
}

// quantities are all that the covariance is propagated to: corners, lengths,
// the area.
func (a *adjustedOutline) quantities(p []float64) []float64 {
	c := a.corners(p)
	var q []float64
	area := 0.0
	for i := range c {
		n := c[a.after(i)]
		q = append(q, c[i][0], c[i][1], math.Hypot(n[0]-c[i][0], n[1]-c[i][1]))
		area += (c[i][0]*n[1] - n[0]*c[i][1]) / 2
	}
	return append(q, area)
}

// propagated returns J Σ Jᵀ with J by central differences.
func (a *adjustedOutline) propagated() [][]float64 {
	n := len(a.estimates)
	columns := make([][]float64, n)
	for k := range n {
		up, down := append([]float64(nil), a.estimates...), append([]float64(nil), a.estimates...)
		const h = 1e-6
		up[k], down[k] = up[k]+h, down[k]-h
		u, d := a.quantities(up), a.quantities(down)
		for i := range u {
			columns[k] = append(columns[k], (u[i]-d[i])/(2*h))
		}
	}
	size := len(columns[0])
	out := make([][]float64, size)
	for i := range out {
		out[i] = make([]float64, size)
		for k := range size {
			at := 0
			for r := range n {
				for c := r; c < n; c++ {
					out[i][k] += columns[r][i] * columns[c][k] * a.covariance[at]
					if c > r {
						out[i][k] += columns[c][i] * columns[r][k] * a.covariance[at]
					}
					at++
				}
			}
		}
	}
	return out
}

// TestErrorsFollowFromTheAdjustment works out the standard errors of corners,
// lengths and areas of a delivery anew from its table adjustments alone, with
// numerical derivatives, and compares them with what the other layers state.
func TestErrorsFollowFromTheAdjustment(t *testing.T) {
	spec := scene.DefaultSpec("courts")
	spec.Spacing, spec.Format = 0.5, 1
	block, err := scene.Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := block.Write(context.Background(), folder, 2); err != nil {
		t.Fatal(err)
	}
	o := extract.DefaultOptions()
	o.Inputs, err = filepath.Glob(filepath.Join(folder, "cloud", "*.la*"))
	if err != nil {
		t.Fatal(err)
	}
	o.Out = filepath.Join(folder, "out")
	if _, err := extract.Run(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	corners, err := gpkg.ReadCorners(filepath.Join(o.Out, "footprints.gpkg"))
	if err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", filepath.Join(o.Out, "footprints.gpkg"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT a.building_id, origin_e, origin_n, estimates, covariance, area_sigma_m2 FROM adjustments a JOIN footprints USING (building_id)")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	checked, withHoles := 0, 0
	for rows.Next() {
		var id, estimates, covariance string
		var a adjustedOutline
		if err := rows.Scan(&id, &a.origin[0], &a.origin[1], &estimates, &covariance, &a.areaSigma); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(estimates), &a.estimates); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal([]byte(covariance), &a.covariance); err != nil {
			t.Fatal(err)
		}
		if !a.load(t, db, corners, id) {
			continue
		}
		checked++
		if a.sides[len(a.sides)-1].ring > 0 {
			withHoles++
		}
		a.check(t, id)
	}
	if checked < 4 || withHoles == 0 {
		t.Errorf("%d buildings were checked, %d of them with courtyards", checked, withHoles)
	}
}

// load reads sides and corners; false where a side is not of the fit.
func (a *adjustedOutline) load(t *testing.T, db *sql.DB, corners []vector.Corner, id string) bool {
	t.Helper()
	rows, err := db.Query("SELECT ring, direction, offset, sigma_length FROM sides WHERE building_id = ? ORDER BY ring, edge", id)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	for _, c := range corners {
		if c.BuildingID == id {
			a.stated = append(a.stated, c)
		}
	}
	offsets := 0
	for rows.Next() {
		var s adjustedSide
		var direction, offset sql.NullInt64
		if err := rows.Scan(&s.ring, &direction, &offset, &s.sigma); err != nil {
			t.Fatal(err)
		}
		if !offset.Valid {
			return false
		}
		s.direction, s.offset = int(direction.Int64), int(offset.Int64)
		offsets = max(offsets, s.offset+1)
		a.sides = append(a.sides, s)
	}
	a.directions = len(a.estimates) - offsets
	for i := range a.sides {
		from, to := a.stated[i].Point, a.stated[a.after(i)].Point
		outward := math.Atan2(to[1]-from[1], to[0]-from[0]) - math.Pi/2
		a.sides[i].quarter = int(math.Round((outward - a.estimates[a.sides[i].direction]) * 2 / math.Pi))
	}
	return true
}

// own is the part of a corner's stated covariance that does not come of the
// adjustment: east, mixed, north.
func (a *adjustedOutline) own(c [][]float64, i int) [3]float64 {
	s := &a.stated[i]
	return [3]float64{s.SigmaE*s.SigmaE - c[3*i][3*i], s.CovEN - c[3*i][3*i+1], s.SigmaN*s.SigmaN - c[3*i+1][3*i+1]}
}

// check compares what the layers state with what the adjustment gives.
func (a *adjustedOutline) check(t *testing.T, id string) {
	t.Helper()
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 2e-6+1e-3*math.Abs(want) {
			t.Errorf("%s: %s is stated as %v, and %v follows from the adjustment", id, what, got, want)
		}
	}
	laidOut, c := a.corners(a.estimates), a.propagated()
	for i, s := range a.sides {
		stated := &a.stated[i]
		if d := math.Hypot(laidOut[i][0]+a.origin[0]-stated.Point[0], laidOut[i][1]+a.origin[1]-stated.Point[1]); d > 2e-4 {
			t.Errorf("%s: vertex %d is %.4f m from where its sides meet", id, i, d)
		}
		own := a.own(c, i)
		if low := own[0] + own[2] - math.Hypot(own[0]-own[2], 2*own[1]); low < -2e-3*(stated.SigmaE*stated.SigmaE+stated.SigmaN*stated.SigmaN) {
			t.Errorf("%s: corner %d is stated to be better known than follows from the adjustment: %v", id, i, own)
		}
		next := a.after(i)
		tx, ty := laidOut[next][0]-laidOut[i][0], laidOut[next][1]-laidOut[i][1]
		length := math.Hypot(tx, ty)
		tx, ty = tx/length, ty/length
		square := c[3*i+2][3*i+2]
		for _, d := range [][3]float64{own, a.own(c, next)} {
			square += tx*tx*d[0] + 2*tx*ty*d[1] + ty*ty*d[2]
		}
		near("the error of a length", s.sigma, math.Sqrt(square))
	}
	last := len(c) - 1
	near("the error of the area", a.areaSigma, math.Sqrt(c[last][last]))
}
