package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"quoin/extract/las"
)

// A point of a block with what it really lies on.
type point struct {
	at    orb.Point
	z     float32
	class uint8
}

// True classes of points: ASPRS LAS 1.4 R15, table 17, and the simulator's own
// from 64, in its documentation.
const (
	classGround = 2
	classRoof   = 6
	classDeck   = 17

	classFacade  = 64
	classVehicle = 66
)

// readPoints reads the points of a block's folder for which keep is true, with
// their true classes.
func readPoints(ctx context.Context, dir string, keep func(orb.Point, uint8) bool) ([]point, error) {
	clouds, err := filepath.Glob(filepath.Join(dir, "cloud", "*.las"))
	if err != nil {
		return nil, err
	}
	var all []point
	for _, path := range clouds {
		name := strings.TrimSuffix(filepath.Base(path), ".las") + ".bin"
		classes, err := os.ReadFile(filepath.Join(dir, "truth", "classes", name))
		if err != nil {
			return nil, err
		}
		f, err := las.Open(path)
		if err != nil {
			return nil, err
		}
		for b, err := range f.Only(0).Batches(ctx) {
			if err != nil {
				return nil, err
			}
			if b.Len() > len(classes) {
				return nil, fmt.Errorf("%s: fewer true classes than points", path)
			}
			for i := range b.Len() {
				if p := (orb.Point{b.X[i], b.Y[i]}); keep(p, classes[i]) {
					all = append(all, point{p, float32(b.Z[i]), classes[i]})
				}
			}
			classes = classes[b.Len():]
		}
	}
	return all, nil
}
