package accuracy

import (
	"slices"
	"testing"

	"quoin/vector"
)

func TestRoofs(t *testing.T) {
	pair := func(truth, delivered vector.RoofType) Pair { return Pair{TrueRoof: truth, Roof: delivered} }
	s := Summarise([]Block{{Pairs: []Pair{
		pair(vector.RoofGable, vector.RoofGable), pair(vector.RoofGable, vector.RoofHip),
		pair(vector.RoofGable, vector.RoofUnknown), pair(vector.RoofFlat, vector.RoofFlat), pair("", vector.RoofFlat),
	}}})
	if len(s.Roofs) != 2 {
		t.Fatalf("%+v", s.Roofs)
	}
	flat, gable := s.Roofs[0], s.Roofs[1]
	if flat.Type != vector.RoofFlat || flat.Right != (Share{1, 1}) || gable.Right != (Share{1, 3}) {
		t.Errorf("got %+v", s.Roofs)
	}
	hip := slices.Index(vector.RoofTypes(), vector.RoofHip)
	if gable.Taken[hip] != 1 || gable.Taken[len(gable.Taken)-1] != 1 {
		t.Errorf("taken for %v", gable.Taken)
	}
}
