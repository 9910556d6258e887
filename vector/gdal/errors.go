package gdal

import (
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
)

// ErrNotBuilt is what every call returns in a program without GDAL.
var ErrNotBuilt = errors.New("this program was built without GDAL: rasters, Shapefile and FlatGeobuf need a build without the tag nogdal")

// ErrWindow says that a window or a buffer makes no sense.
var ErrWindow = errors.New("window is empty, too large or not finite")

// An Error is a failure that GDAL reports.
type Error struct {
	// Action is what was asked for, as "open"; Path is the file.
	Action, Path string
	// Text is GDAL's own.
	Text string
}

// Error returns action, file and GDAL's text on one line.
func (e *Error) Error() string {
	return fmt.Sprintf("gdal: %s %s: %s", e.Action, e.Path, e.Text)
}

// local returns the name under which GDAL opens an existing file or folder, and
// never takes for an address or a connection: an absolute path.
func local(path string) (string, error) {
	if strings.ContainsRune(path, 0) {
		return "", &fs.PathError{Op: "open", Path: path, Err: fs.ErrInvalid}
	}
	if _, err := os.Stat(path); err != nil {
		return "", err
	}
	return filepath.Abs(path)
}

// finite reports whether all values are numbers that fit a GDAL window.
func finite(values ...float64) bool {
	for _, v := range values {
		if !(math.Abs(v) <= math.MaxInt32) {
			return false
		}
	}
	return true
}

// named completes an error with what was done to which file.
func named(err error, action, path string) error {
	if e, ok := err.(*Error); ok && e.Action == "" {
		return &Error{action, path, e.Text}
	}
	return err
}
