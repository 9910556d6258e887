package extract

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestSteady(t *testing.T) {
	tests := []struct {
		name    string
		v, want []float64
	}{
		{"none", []float64{}, []float64{}},
		{"one", []float64{3}, []float64{3}},
		{"a single cell stands out", []float64{1, 1, 5, 1, -4, 1, 1}, []float64{1, 1, 1, 1, 1, 1, 1}},
		{"a wall is kept", []float64{1, 1, 3, 3, 3, 1}, []float64{1, 1, 3, 3, 3, 1}},
		{"a slope is cut by a sample at either end", []float64{0, 1, 2, 3, 2, 1}, []float64{1, 1, 2, 2, 2, 1}},
	}
	for _, tt := range tests {
		if diff := cmp.Diff(tt.want, steady(tt.v)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
}
