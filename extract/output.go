package extract

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"quoin/vector/formats"
)

// The files of a delivery, beside those of its formats.
const (
	fileReport       = "report.html"
	filePrinted      = "report.pdf"
	fileStatement    = "accuracy-statement.txt"
	fileRecord       = "run.json"
	fileTerrain      = "terrain.tif"
	fileInterpolated = "terrain-interpolated.tif"
)

// deliverable lists the files that a folder without checksums may have of an
// earlier run.
func deliverable() []string {
	return []string{
		formats.FileGeoPackage, formats.FileGeoJSON, formats.FileProjectedGeoJSON,
		fileReport, filePrinted, fileStatement, fileRecord, fileTerrain, fileInterpolated,
	}
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
// a name that this one did not write is removed, by the list of its checksums,
// so that a delivery is never a mixture.
func (o *output) finish() error {
	before, err := formats.Listed(o.folder)
	if err != nil {
		return fmt.Errorf("output folder: %w", err)
	}
	written, err := o.move()
	if err != nil {
		return fmt.Errorf("output folder: %w", err)
	}
	for _, name := range append(before, deliverable()...) {
		if slices.Contains(written, name) {
			continue
		}
		path := filepath.Join(o.folder, filepath.FromSlash(name))
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			return fmt.Errorf("output folder: %w", err)
		}
		if folder := filepath.Dir(path); folder != filepath.Clean(o.folder) {
			os.Remove(folder) // fails as long as anything is in it
		}
	}
	return nil
}

// move renames all files and returns their names, with slashes.
func (o *output) move() (names []string, err error) {
	err = filepath.WalkDir(o.unfinished, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(o.unfinished, path)
		if err != nil {
			return err
		}
		names = append(names, filepath.ToSlash(name))
		to := filepath.Join(o.folder, name)
		if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
			return err
		}
		return os.Rename(path, to)
	})
	return names, err
}

// discard removes what is not complete, and the folder if it was made for
// nothing.
func (o *output) discard() {
	os.RemoveAll(o.unfinished)
	if o.made {
		os.Remove(o.folder) // fails when the delivery is in it
	}
}
