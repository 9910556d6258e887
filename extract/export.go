package extract

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"quoin/vector/formats"
)

// An Export says which formats are made of a delivery.
type Export struct {
	// Delivery is the path of a delivery's folder or of its GeoPackage.
	Delivery string
	// Out is the folder to write to; empty for that of the delivery.
	Out string
	// Options are those of the formats.
	Options formats.Options
}

// Run writes the formats from the layers of a delivery, whole or not at all. In
// the folder of the delivery, what else is there stays, and the list of
// checksums and the page for the receiver take in what has come.
func (e Export) Run(ctx context.Context) (formats.Result, error) {
	set, err := formats.Read(e.Delivery)
	if err != nil {
		return formats.Result{}, err
	}
	folder := e.Out
	if folder == "" {
		folder = e.Delivery
		if info, err := os.Stat(folder); err == nil && !info.IsDir() {
			folder = filepath.Dir(folder)
		}
	}
	out, err := openOutput(folder)
	if err != nil {
		return formats.Result{}, err
	}
	defer out.discard()
	result, err := formats.Write(ctx, out.unfinished, set, e.Options)
	if err != nil {
		return result, err
	}
	operation := ""
	if result.ToWGS84 != nil {
		operation = result.ToWGS84.String()
	}
	if err := formats.DescribeBeside(out.unfinished, folder, set, operation); err != nil {
		return result, err
	}
	if err := ctx.Err(); err != nil {
		return result, err
	}
	if _, err := out.move(); err != nil {
		return result, fmt.Errorf("output folder: %w", err)
	}
	return result, nil
}
