package geojson_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/geojson"
)

func ExampleWrite() {
	folder, err := os.MkdirTemp("", "delivery")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "footprints.geojson")
	delivery := vector.Delivery{
		CRS: vector.CRS{Authority: "EPSG", Code: 25832, Horizontal: vector.Metre, Vertical: vector.Metre},
		Footprints: []vector.Footprint{{
			ID: "b1", Polygon: orb.Polygon{{{500000, 5761038}, {500000, 5761046}, {500012, 5761046}, {500000, 5761038}}},
		}},
	}
	// Stands for a transformation by PROJ.
	toWGS84 := func(p orb.Point) (orb.Point, error) {
		return orb.Point{9 + (p[0]-500000)/68678, 52 + (p[1]-5761038)/111267}, nil
	}
	if err := geojson.Write(context.Background(), path, delivery, toWGS84); err != nil {
		fmt.Println(err)
		return
	}
	text, err := os.ReadFile(path)
	fmt.Printf("%.60s… %v\n", text, err)
	read, err := geojson.ReadPolygons(path)
	fmt.Println(read.IDs, read.Polygons[0][0][1], read.CRS, err)
	// Output:
	// {"type":"FeatureCollection","bbox":[9,52,9.000174728,52.0000… <nil>
	// [b1] [9.000174728 52.000071899] EPSG:4326 <nil>
}
