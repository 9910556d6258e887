package extract

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
)

// The files of a delivery.
const (
	fileGeoPackage       = "footprints.gpkg"
	fileGeoJSON          = "footprints.geojson"
	fileProjectedGeoJSON = "footprints-projected.geojson"
	fileReport           = "report.html"
	fileStatement        = "accuracy-statement.txt"
	fileRecord           = "run.json"
	fileTerrain          = "terrain.tif"
	fileInterpolated     = "terrain-interpolated.tif"
)

// deliverable lists them all.
func deliverable() []string {
	return []string{fileGeoPackage, fileGeoJSON, fileProjectedGeoJSON, fileReport, fileStatement, fileRecord, fileTerrain, fileInterpolated}
}

// An output is the folder of a delivery, with one inside it for files that are
// not complete: a delivery appears when all of it is there, or not at all.
type output struct {
	folder, unfinished string
	made               bool // the folder did not exist before
}

// openOutput makes the folder, so that one that can't be written to is found
// before any work is done.
func openOutput(folder string) (*output, error) {
	_, err := os.Stat(folder)
	made := os.IsNotExist(err)
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("output folder: %w", err)
	}
	unfinished, err := os.MkdirTemp(folder, ".unfinished-")
	if err != nil {
		return nil, fmt.Errorf("output folder: %w", err)
	}
	return &output{folder, unfinished, made}, nil
}

// path returns where a file is to be written to.
func (o *output) path(name string) string { return filepath.Join(o.unfinished, name) }

// finish moves the files to their final names. What an earlier run left under
// a name that this one did not write is removed, so that a delivery is never a
// mixture.
func (o *output) finish() error {
	entries, err := os.ReadDir(o.unfinished)
	if err != nil {
		return fmt.Errorf("output folder: %w", err)
	}
	var written []string
	for _, e := range entries {
		if err := os.Rename(o.path(e.Name()), filepath.Join(o.folder, e.Name())); err != nil {
			return fmt.Errorf("output folder: %w", err)
		}
		written = append(written, e.Name())
	}
	for _, name := range deliverable() {
		if !slices.Contains(written, name) {
			if err := os.Remove(filepath.Join(o.folder, name)); err != nil && !os.IsNotExist(err) {
				return fmt.Errorf("output folder: %w", err)
			}
		}
	}
	return nil
}

// discard removes what is not complete, and the folder if it was made for
// nothing.
func (o *output) discard() {
	os.RemoveAll(o.unfinished)
	if o.made {
		os.Remove(o.folder) // fails when the delivery is in it
	}
}
