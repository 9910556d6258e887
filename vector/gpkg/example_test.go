package gpkg_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/gpkg"
	"quoin/vector/layer"
)

func ExampleWrite() {
	folder, err := os.MkdirTemp("", "delivery")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "footprints.gpkg")
	house := orb.Polygon{{{0, 0}, {12, 0}, {12, 8}, {0, 8}, {0, 0}}}
	delivery := vector.Delivery{
		CRS:        vector.CRS{Horizontal: vector.Metre, Vertical: vector.Metre}, // its place is unknown
		Footprints: []vector.Footprint{{ID: "b1", Reference: vector.RoofEdge, Polygon: house}},
	}
	if err := gpkg.Write(context.Background(), path, layer.Of(delivery), gpkg.Options{}); err != nil {
		fmt.Println(err)
		return
	}
	read, err := gpkg.ReadPolygons(path, "")
	fmt.Println(read.Layer, read.IDs, read.Polygons[0].Equal(house), read.CRS, err)
	// Output:
	// footprints [b1] true unknown CRS <nil>
}
