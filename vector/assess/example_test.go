package assess_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
)

func ExampleNewAdjustment() {
	var corners []vector.Corner
	var points []control.Point
	for i, q := range []orb.Point{{100, 100}, {300, 120}, {250, 300}, {90, 280}} {
		corners = append(corners, vector.Corner{BuildingID: fmt.Sprint("b", i), Point: orb.Point{q[0] + 0.25, q[1] - 0.1}, AngleDeg: 90})
		points = append(points, control.Point{ID: fmt.Sprint(i), East: q[0], North: q[1], Role: vector.RoleControl})
	}
	points[3].Role = vector.RoleCheck
	a, err := assess.NewAdjustment(assess.ShiftOnly, control.Match(corners, points, 1))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f east, %.3f north, from points %v\n", a.ShiftE, a.ShiftN, a.Points)
	// Output:
	// -0.250 east, 0.100 north, from points [0 1 2]
}

// BenchmarkAssess takes a survey of a thousand points.
func BenchmarkAssess(b *testing.B) {
	dice := rand.New(rand.NewPCG(1, 1))
	var corners []vector.Corner
	var points []control.Point
	for i := range 1000 {
		q := orb.Point{5000 * dice.Float64(), 5000 * dice.Float64()}
		corners = append(corners, vector.Corner{BuildingID: fmt.Sprint(i), Point: q, SigmaE: 0.02, SigmaN: 0.02, AngleDeg: 90})
		points = append(points, control.Point{ID: fmt.Sprint(i), East: q[0] + 0.03*dice.NormFloat64(), North: q[1] + 0.03*dice.NormFloat64()})
	}
	checks := control.Match(corners, points, 1)
	o := assess.Options{Area: orb.Bound{Max: orb.Point{5000, 5000}}, Floor: assess.DefaultFloor}
	for b.Loop() {
		assess.Assess(checks, corners, o)
	}
}
