package ground

import (
	"testing"

	"quoin/extract/cloud"
)

// Cells beside a roof whose lowest point is on the wall go; what is as high
// elsewhere, and land that rises to the house, stays.
func TestFeetOfFacades(t *testing.T) {
	tests := []struct {
		name  string
		slope float32
		rise  float32 // of the cell's lowest point above the land
		at    [2]int  // row and column of the cell
		want  bool    // still held
	}{
		{"on the wall", 0, 0.2, [2]int{10, 9}, false},
		{"on the ground", 0, 0.03, [2]int{10, 9}, true},
		{"away from the wall", 0, 0.2, [2]int{10, 4}, true},
		{"land rises to the house", 0.4, 0, [2]int{10, 9}, true},
		{"on the wall, land rises to the house", 0.4, 0.2, [2]int{10, 9}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			g := cloud.Grid{Cell: 0.5, Rows: 20, Cols: 20}
			n := g.Len()
			r := &refit{
				Grid: g, low: make([]spot, n), held: make([]bool, n), raised: make([]bool, n),
				o: DefaultOptions(measures(8, 0.02)),
			}
			for i := range n {
				col := i % g.Cols
				r.raised[i], r.held[i] = col >= 10, col < 10
				r.low[i].z = tt.slope * 0.5 * float32(col)
			}
			i := tt.at[0]*g.Cols + tt.at[1]
			r.low[i].z += tt.rise
			r.dropFeet()
			if r.held[i] != tt.want {
				t.Errorf("held %v, want %v", r.held[i], tt.want)
			}
		})
	}
}
