package copc_test

import (
	"bytes"
	"context"
	"fmt"

	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

// A cloud is written as an octree, and a corner of it read, thinned.
func Example() {
	h := copc.Header{
		Format: 6, RecordLength: 30, Scale: [3]float64{0.01, 0.01, 0.01},
		VLRs: []copc.Record{{UserID: "LASF_Projection", ID: 2112, Data: []byte("LOCAL_CS[\"site\"]\x00")}},
	}
	var file memory
	w, err := copc.NewWriter(&file, h, copc.DefaultWriterOptions())
	if err != nil {
		panic(err)
	}
	// 300 × 300 points, 0.1 m apart.
	for y := range 300 {
		for x := range 300 {
			rec := make([]byte, 30)
			rec[0], rec[1] = byte(x*10), byte(x*10>>8)
			rec[4], rec[5] = byte(y*10), byte(y*10>>8)
			if err := w.Write(rec); err != nil {
				panic(err)
			}
		}
	}
	stats, err := w.Close(context.Background())
	if err != nil {
		panic(err)
	}
	fmt.Println(stats.Points, "points in", stats.Nodes, "nodes")

	r, err := copc.NewReader(bytes.NewReader(file.data), int64(len(file.data)))
	if err != nil {
		panic(err)
	}
	corner := copc.Query{
		Box:     copc.Box{Min: [3]float64{0, 0, -1}, Max: [3]float64{5, 5, 1}},
		Spacing: r.Info().Spacing,
		Options: laz.DefaultReaderOptions(),
	}
	n := 0
	for part, err := range r.Read(context.Background(), corner) {
		if err != nil {
			panic(err)
		}
		n += len(part.Records) / 30
	}
	fmt.Printf("%d points %.2f m apart\n", n, r.Info().Spacing)
	// Output:
	// 90000 points in 5 nodes
	// 484 points 0.23 m apart
}
