package extract

import (
	"testing"

	"quoin/extract/outline"
)

func TestOpenRoof(t *testing.T) {
	rings := rectangle(0, 0, 10, 8, 0, 0.01).rings
	roof := func(through func(i int, x, y float64) bool) []outline.Observation {
		var obs []outline.Observation
		for i := range 40 * 32 {
			x, y := float64(i%40)/4+0.1, float64(i/40)/4+0.1
			side := outline.Inside
			if through(i, x, y) {
				side = outline.Outside
			}
			obs = append(obs, outline.Observation{X: x, Y: y, Side: side})
		}
		return obs
	}
	for name, c := range map[string]struct {
		through func(i int, x, y float64) bool
		want    bool
	}{
		"a closed roof":            {func(int, float64, float64) bool { return false }, false},
		"ground under the eaves":   {func(_ int, x, y float64) bool { return x < 0.5 || y < 0.5 }, false},
		"a skylight":               {func(_ int, x, y float64) bool { return x > 4 && x < 5 && y > 3 && y < 5 }, false},
		"every third pulse passes": {func(i int, _, _ float64) bool { return i%3 == 0 }, true},
	} {
		if got := open(roof(c.through), rings, quarterMetre); got != c.want {
			t.Errorf("%s: open is %v", name, got)
		}
	}
}
