package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/extract/las"
	"quoin/extract/scene"
	"quoin/vector/accuracy"
	"quoin/vector/gdal"
)

// Files of a delivery that are read once and removed.
const (
	classifiedName   = "classified.las"
	terrainName      = "terrain.tif"
	interpolatedName = "terrain-interpolated.tif"
)

// A relief is how the terrain of a block came out.
type relief struct {
	Points accuracy.Filtering `json:"points"`
	// Taken are the points of each true class, and those of them taken for
	// ground.
	Taken map[uint8]accuracy.Share `json:"taken"`
	// Roofs are the same for the roofs of buildings by widthClasses.
	Roofs []accuracy.Share `json:"roofs"`
	// Under and Open are how far the surface lies above the true one, in
	// metres, under roofs and where it is not interpolated.
	Under accuracy.Spread `json:"under"`
	Open  accuracy.Spread `json:"open"`
	// Biased counts the buildings under which the mean is off by more than
	// biasAim.
	Biased accuracy.Share `json:"biased"`
}

// biasAim is the bias under a roof that is aimed at, in metres.
const biasAim = 0.15

// widthClasses are the upper limits, in metres, of the widths that roofs are
// counted by.
func widthClasses() []float64 { return []float64{15, 30, 60, 120} }

// classStockpile, classPool, classLowNoise and classWater are neither ground
// nor objects: whether a heap of material is terrain is a matter of use, a
// cover lies on the ground, and low noise and water have no surface to be on.
const (
	classLowNoise  = 7
	classWater     = 9
	classStockpile = 69
	classPool      = 71
)

// readRelief measures the terrain of a delivery against the truth in dir, and
// removes the files that it needs no more. inputs are the names of the cloud's
// files in the order in which the program took them.
func readRelief(ctx context.Context, c blockCase, dir, out string, inputs []string) (*relief, error) {
	spec := scene.DefaultSpec(c.Composite)
	spec.Spacing, spec.Seed = c.Spacing, c.Seed
	s, err := scene.Compose(spec)
	if err != nil {
		return nil, err
	}
	roofs, err := readTruth(filepath.Join(dir, "truth", "footprints.geojson"))
	if err != nil {
		return nil, err
	}
	r := &relief{Taken: make(map[uint8]accuracy.Share), Roofs: make([]accuracy.Share, len(widthClasses()))}
	classes, err := trueClasses(dir, inputs)
	if err != nil {
		return nil, err
	}
	if err := r.countPoints(ctx, s, roofs, filepath.Join(out, classifiedName), classes); err != nil {
		return nil, err
	}
	if err := r.compareSurface(s, roofs, out); err != nil {
		return nil, err
	}
	for _, name := range []string{classifiedName, terrainName, interpolatedName} {
		if err := os.Remove(filepath.Join(out, name)); err != nil {
			return nil, err
		}
	}
	return r, nil
}

// trueClasses returns the classes of the points of all inputs, one file after
// the other.
func trueClasses(dir string, inputs []string) ([]byte, error) {
	var classes []byte
	for _, input := range inputs {
		name := strings.TrimSuffix(filepath.Base(input), ".las") + ".bin"
		b, err := os.ReadFile(filepath.Join(dir, "truth", "classes", name))
		if err != nil {
			return nil, err
		}
		classes = append(classes, b...)
	}
	return classes, nil
}

// deckHeight is the height above the ground, in metres, from which a bridge
// counts as an object: its ends lie on the land.
const deckHeight = 0.4

// countPoints goes through the classified cloud, which holds the points of the
// inputs one file after the other, and the true classes beside them.
func (r *relief) countPoints(ctx context.Context, s *scene.Scene, roofs []accuracy.Building, path string, classes []byte) error {
	f, err := las.Open(path)
	if err != nil {
		return err
	}
	widths := widthsOf(roofs)
	for b, err := range f.Only(las.Class).Batches(ctx) {
		if err != nil {
			return err
		}
		if b.Len() > len(classes) {
			return fmt.Errorf("%s: fewer true classes than points", path)
		}
		for i := range b.Len() {
			at := orb.Point{b.X[i], b.Y[i]}
			if classes[i] == classDeck && b.Z[i]-s.Elevation(at) < deckHeight {
				continue
			}
			r.count(classes[i], b.Class[i] == classGround, func() int { return widths.at(at) })
		}
		classes = classes[b.Len():]
	}
	if len(classes) > 0 {
		return fmt.Errorf("%s: %d points are missing", path, len(classes))
	}
	return nil
}

// count adds a point; width tells the class of the roof's width, -1 for none.
func (r *relief) count(class uint8, taken bool, width func() int) {
	s := r.Taken[class]
	r.Taken[class] = s.With(taken)
	switch class {
	case classLowNoise, classWater, classStockpile, classPool:
		return
	case classRoof:
		if k := width(); k >= 0 {
			r.Roofs[k] = r.Roofs[k].With(taken)
		}
	}
	r.Points.Count(class == classGround, taken)
}

// A widthIndex tells the width class of the roof at a place.
type widthIndex struct {
	roofs   []accuracy.Building
	classes []int
	last    int // points come in lines: most lie on the roof of the one before
}

func widthsOf(roofs []accuracy.Building) *widthIndex {
	w := &widthIndex{roofs: roofs, classes: make([]int, len(roofs))}
	for i, b := range roofs {
		width := accuracy.Narrowest(b.Polygon[0])
		for w.classes[i] < len(widthClasses())-1 && width >= widthClasses()[w.classes[i]] {
			w.classes[i]++
		}
	}
	return w
}

func (w *widthIndex) at(p orb.Point) int {
	for k := range w.roofs {
		i := (w.last + k) % len(w.roofs)
		if r := w.roofs[i].Polygon; r.Bound().Contains(p) && planar.PolygonContains(r, p) {
			w.last = i
			return w.classes[i]
		}
	}
	return -1
}

// compareSurface compares the delivered terrain with the true one at the
// middle of its cells.
func (r *relief) compareSurface(s *scene.Scene, roofs []accuracy.Building, out string) error {
	up, at, err := readRaster[float32](filepath.Join(out, terrainName))
	if err != nil {
		return err
	}
	guessed, _, err := readRaster[uint8](filepath.Join(out, interpolatedName))
	if err != nil {
		return err
	}
	difference := func(column, row int) float64 {
		x, y := at.Apply(float64(column)+0.5, float64(row)+0.5)
		return float64(up.Pix[row*up.Width+column]) - s.Elevation([2]float64{x, y})
	}
	for i, g := range guessed.Pix {
		if g == 0 {
			r.Open.Add(difference(i%up.Width, i/up.Width))
		}
	}
	for _, b := range roofs {
		under := accuracy.Spread{}
		bound := b.Polygon.Bound()
		c0, r0, _ := at.Invert(bound.Min[0], bound.Max[1])
		c1, r1, _ := at.Invert(bound.Max[0], bound.Min[1])
		for row := max(int(r0), 0); row <= min(int(r1), up.Height-1); row++ {
			for column := max(int(c0), 0); column <= min(int(c1), up.Width-1); column++ {
				x, y := at.Apply(float64(column)+0.5, float64(row)+0.5)
				if planar.PolygonContains(b.Polygon, orb.Point{x, y}) {
					under.Add(difference(column, row))
				}
			}
		}
		r.Under.Pool(under)
		if under.N > 0 {
			r.Biased = r.Biased.With(max(under.Bias(), -under.Bias()) > biasAim)
		}
	}
	return nil
}

// readRaster reads the first channel of a whole raster.
func readRaster[T gdal.Sample](path string) (*gdal.Image[T], gdal.GeoTransform, error) {
	f, err := gdal.OpenRaster(path)
	if err != nil {
		return nil, gdal.GeoTransform{}, err
	}
	info := f.Info()
	m := gdal.NewImage[T](info.Width, info.Height, 1)
	err = gdal.Read(f, gdal.Window{Width: float64(info.Width), Height: float64(info.Height)}, gdal.Nearest, m)
	if err == nil {
		err = f.Close()
	}
	return m, info.GeoTransform, err
}
