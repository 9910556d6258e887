package classify_test

import (
	"math"
	"testing"

	"quoin/extract/classify"
	"quoin/extract/cloud"
)

// place returns a block of three leaves close together, one return far above,
// and others, with their heights and evidence.
func place() (*cloud.Block, []float32, []classify.Evidence, []uint8) {
	rows := []struct {
		x, z     float64
		height   float32
		evidence classify.Evidence
		want     uint8
	}{
		{0, 10, 0, classify.OnGround, 2},
		{1, 10.3, 0.3, classify.Foliage, 3},
		{2, 11, 1, classify.Foliage, 4},
		{3, 14, 4, classify.Foliage, 5},
		{3.1, 14.1, 4.1, classify.Foliage, 5},
		{3.2, 14.2, 4.2, classify.Foliage, 5},
		{20, 16, 6, classify.OnRoof, 6},
		{30, 7, -3, classify.None, 7},
		{40, 15, 5, classify.OnDeck, 17},
		{60, 50, 40, classify.Foliage, 18},
		{70, 10.5, 0.5, classify.None, 1},
		{80, 12, float32(math.NaN()), classify.Foliage, 1},
	}
	var points []cloud.Point
	var heights []float32
	var evidence []classify.Evidence
	var want []uint8
	for _, r := range rows { // ascending x in one row of cells is the canonical order
		points = append(points, cloud.Pack(r.x, 0.5, r.z, cloud.Attributes{Return: 1, Returns: 1}))
		heights, evidence, want = append(heights, r.height), append(evidence, r.evidence), append(want, r.want)
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	return b, heights, evidence, want
}

// Classes by ASPRS LAS 1.4 R15, table 17.
func TestClasses(t *testing.T) {
	b, heights, evidence, want := place()
	for i, got := range classify.Classes(b, heights, evidence) {
		if got != want[i] {
			t.Errorf("point %d at height %v is %d, want %d", i, heights[i], got, want[i])
		}
	}
}

func TestLabelLeavesAloneWhatIsNotJudged(t *testing.T) {
	b, heights, evidence, want := place()
	l := classify.NewLabeller(b, classify.Classes(b, heights, evidence))
	for class := range 256 {
		classes := []uint8{uint8(class), uint8(class), uint8(class), uint8(class)}
		batch := &cloud.Batch{
			X: []float64{20, 20, 9999, 9999}, Y: []float64{0.5, 0.5, 0, 0}, Z: []float64{16, 16, -99, 99},
			Flags: []cloud.Flag{0, cloud.Withheld, 0, 0},
		}
		l.Label(batch, classes)
		// The classes of the ASPRS up to building are judged: never classified
		// (0) to 6.
		expected := [4]uint8{want[6], uint8(class), 7, 18}
		// So is noise that the block was not spared: its class was not believed.
		switch {
		case class == 7 || class == 18:
			expected = [4]uint8{want[6], uint8(class), uint8(class), uint8(class)}
		case class > 6:
			expected = [4]uint8{uint8(class), uint8(class), uint8(class), uint8(class)}
		}
		if [4]uint8(classes) != expected {
			t.Errorf("class %d became %v, want %v", class, classes, expected)
		}
	}
	if l.Counts[6] == 0 || l.Kept == 0 {
		t.Error("nothing was counted")
	}
}
