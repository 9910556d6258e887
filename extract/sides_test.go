package extract

import (
	"testing"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
)

// Edges of a rectangle moved inside by known overhangs bound a rectangle that is
// smaller by just those, in its place.
func TestMoveIn(t *testing.T) {
	frame := cloud.Frame{OriginE: 500000, OriginN: 6200000, Horizontal: 1, Vertical: 1}
	outline := orb.Polygon{{{500100, 6200200}, {500110, 6200200}, {500110, 6200220}, {500100, 6200220}, {500100, 6200200}}}
	got := moveIn(frame, outline, ledges(frame, outline), []float64{0.5, 0.25, 1, 0.125})
	want := orb.Polygon{{{500100.125, 6200200.5}, {500109.75, 6200200.5}, {500109.75, 6200219}, {500100.125, 6200219}, {500100.125, 6200200.5}}}
	if len(got) != 1 || !orb.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
