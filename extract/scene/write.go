package scene

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/extract/scene/chance"
	"quoin/extract/scene/flight"
	"quoin/extract/scene/solid"
)

// A Summary says what Write has written.
type Summary struct {
	// Clouds are the paths of the point files, Control that of the survey.
	Clouds  []string
	Control string
	// Ortho is the path of the image; empty when there is none.
	Ortho string
	// Points is their number in all files, Pulses that of first returns.
	Points, Pulses int64
	// Buildings is the number of buildings in the truth.
	Buildings int
}

// created is the day the flight is said to have been flown.
var created = time.Date(2025, time.October, 14, 0, 0, 0, 0, time.UTC)

// Write flies the scene and writes its files into dir, which is made when it
// is missing. Points are streamed to the disk, line by line.
func (s *Scene) Write(ctx context.Context, dir string, workers int) (Summary, error) {
	sum := Summary{Control: filepath.Join(dir, "control.csv"), Buildings: len(s.Buildings)}
	for _, d := range []string{"cloud", filepath.Join("truth", "classes")} {
		if err := os.MkdirAll(filepath.Join(dir, d), 0o777); err != nil {
			return sum, fmt.Errorf("scene: write: %w", err)
		}
	}
	for _, line := range s.Plan.Lines {
		path := filepath.Join(dir, "cloud", fmt.Sprintf("line_%02d.las", line.Source))
		truth := filepath.Join(dir, "truth", "classes", fmt.Sprintf("line_%02d.bin", line.Source))
		out, err := s.create(path, truth)
		if err != nil {
			return sum, fmt.Errorf("scene: write: %w", err)
		}
		err = flight.Fly(ctx, s.World, s.Plan, line, flight.Options{Seed: s.Spec.Seed, Workers: workers, Take: out.take})
		if err = out.close(err); err != nil {
			return sum, fmt.Errorf("scene: write: %w", err)
		}
		sum.Clouds = append(sum.Clouds, path)
		sum.Points, sum.Pulses = sum.Points+out.points, sum.Pulses+out.pulses
	}
	if err := s.writeControl(sum.Control); err != nil {
		return sum, fmt.Errorf("scene: write: %w", err)
	}
	if s.Spec.Ortho != nil {
		var err error
		if sum.Ortho, err = s.writeOrtho(ctx, dir, workers); err != nil {
			return sum, fmt.Errorf("scene: write ortho: %w", err)
		}
	}
	if err := s.writeTruth(filepath.Join(dir, "truth"), sum); err != nil {
		return sum, fmt.Errorf("scene: write: %w", err)
	}
	return sum, nil
}

// A lineFile is the cloud of one flight line and the true class of its points.
type lineFile struct {
	scene          *Scene
	las            *las.Writer
	classes        *os.File
	points, pulses int64
}

func (s *Scene) create(path, truth string) (*lineFile, error) {
	step := 0.001
	if s.Spec.Unit.Metres < 0.5 {
		step = 0.002 // 0.6 mm, in feet
	}
	version := uint8(4)
	if s.Spec.Format < 6 {
		version = 2
	}
	// The offset is a round number near the block, in CRS units.
	o := s.datum.position(solid.Point{})
	w, err := las.Create(path, las.Header{
		Version: version, Format: s.Spec.Format, Scale: [3]float64{step, step, step},
		Offset: [3]float64{float64(int64(o[0]/1000)) * 1000, float64(int64(o[1]/1000)) * 1000, 0},
		CRS:    s.datum.crs, Encoding: las.AdjustedTime, SystemID: "simulated flight", Software: "quoin demo",
		Created: created,
	})
	if err != nil {
		return nil, err
	}
	classes, err := os.Create(truth)
	if err != nil {
		w.Abort()
		return nil, err
	}
	return &lineFile{scene: s, las: w, classes: classes}, nil
}

// take writes a batch of the flight, whose classes are the true ones.
func (f *lineFile) take(b *cloud.Batch) error {
	if _, err := f.classes.Write(b.Class); err != nil {
		return err
	}
	d := f.scene.datum
	for i := range b.X {
		p := d.position(solid.Point{X: b.X[i], Y: b.Y[i]})
		b.X[i], b.Y[i], b.Z[i] = p[0], p[1], d.length(b.Z[i])
		b.Class[i] = f.scene.label(b, i)
		if b.Return[i] == 1 {
			f.pulses++
		}
	}
	f.points += int64(b.Len())
	return f.las.Write(b)
}

// close finishes both files, or drops the cloud when the flight failed.
func (f *lineFile) close(err error) error {
	if err != nil {
		f.las.Abort()
		_ = f.classes.Close()
		return err
	}
	if err := f.classes.Close(); err != nil {
		f.las.Abort()
		return err
	}
	return f.las.Close()
}

// label returns the class that the cloud file gives a point.
func (s *Scene) label(b *cloud.Batch, i int) uint8 {
	class := solid.Class(b.Class[i])
	switch s.Spec.Labels {
	case Labelled:
		return published(class)
	case Mislabelled:
		// Whole cells of four metres are wrong, as a bad classifier's are.
		cell := func(v float64) uint64 { return uint64(int64(v * s.Spec.Unit.Metres / 4)) }
		h := chance.Lattice(s.Spec.Seed, cell(b.X[i]), cell(b.Y[i]), 0x1abe1)
		if chance.Unit(h) > 1.0/3 {
			return published(class)
		}
		switch published(class) {
		case 6:
			return 2
		case 2:
			return 6
		case 5:
			return 6
		}
		return 5
	}
	return uint8(solid.Unclassified)
}

// published returns the ASPRS class nearest to a true one.
func published(c solid.Class) uint8 {
	switch c {
	case solid.Wall, solid.RoofPlant, solid.Balcony:
		return uint8(solid.Roof)
	case solid.Stockpile, solid.Pool:
		return uint8(solid.Terrain)
	}
	if c >= 64 {
		return uint8(solid.Unclassified)
	}
	return uint8(c)
}
