package las_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector"
)

func Example() {
	dir, err := os.MkdirTemp("", "las")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	path := filepath.Join(dir, "two points.las")

	w, err := las.Create(path, las.Header{
		Version: 2, Format: 1, Scale: [3]float64{0.001, 0.001, 0.001}, Offset: [3]float64{500000, 5700000, 0},
		CRS: vector.CRS{Authority: "EPSG", Code: 25832, Horizontal: vector.Metre},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	err = w.Write(&cloud.Batch{
		X: []float64{500010.25, 500010.75}, Y: []float64{5700020.5, 5700020.5}, Z: []float64{101.125, 98.75},
		Return: []uint8{1, 2}, Returns: []uint8{2, 2},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := w.Close(); err != nil {
		fmt.Println(err)
		return
	}

	f, err := las.Open(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(f.Info().Count, "points in", f.Info().CRS)
	for b, err := range f.Batches(context.Background()) {
		if err != nil {
			fmt.Println(err)
			return
		}
		for i := range b.Len() {
			fmt.Println(b.X[i], b.Y[i], b.Z[i], b.Return[i])
		}
	}
	// Output:
	// 2 points in EPSG:25832
	// 500010.25 5.7000205e+06 101.125 1
	// 500010.75 5.7000205e+06 98.75 2
}
