package extract

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"quoin/extract/las"
	"quoin/vector"
	"quoin/vector/crs"
)

// A file is one input that was opened.
type file struct {
	// File has the columns that points are packed from.
	*las.File
	// picture has those that the block is drawn from.
	picture *las.File
	record  Input
}

// The columns that are read: the layers of others are not decompressed.
const (
	packedColumns  = las.Time | las.Class | las.Flags | las.ScanAngle | las.Source
	pictureColumns = las.Colour | las.Intensity | las.Class | las.Flags
)

// openAll opens and hashes the inputs, sorted by content, so that the order
// on the command line does not matter. The same file twice is one.
func openAll(ctx context.Context, o Options, r *Record) ([]file, error) {
	files := make([]file, len(o.Inputs))
	err := each(ctx, o, len(o.Inputs), func(i int) error {
		f, err := las.Open(o.Inputs[i])
		if err != nil {
			return err
		}
		share := max(o.Workers/len(o.Inputs), 1) // files are read at once as well
		files[i].File = f.Only(packedColumns).Workers(share)
		files[i].picture = f.Only(pictureColumns).Workers(o.Workers)
		files[i].record, err = describe(ctx, o.Inputs[i], f.Info().Count)
		return err
	})
	if err != nil {
		return nil, err
	}
	slices.SortFunc(files, func(a, b file) int {
		return cmp.Or(cmp.Compare(a.record.SHA256, b.record.SHA256), cmp.Compare(a.record.Path, b.record.Path))
	})
	kept := slices.CompactFunc(slices.Clone(files), func(a, b file) bool { return a.record.SHA256 == b.record.SHA256 })
	if n := len(files) - len(kept); n > 0 {
		r.warn(o, fmt.Sprintf("%d of the files given have the same content as another: each is read once", n))
	}
	for _, f := range kept {
		r.Inputs = append(r.Inputs, f.record)
		for _, w := range f.Warnings() {
			r.warn(o, fmt.Sprintf("%s: %s", filepath.Base(f.record.Path), w))
		}
		if f.Info().Count == 0 {
			r.warn(o, fmt.Sprintf("%s holds no points", filepath.Base(f.record.Path)))
		}
	}
	return kept, nil
}

// describe sizes and hashes a file.
func describe(ctx context.Context, path string, points uint64) (Input, error) {
	f, err := os.Open(path)
	if err != nil {
		return Input{}, err
	}
	defer f.Close()
	hash := sha256.New()
	size, err := io.Copy(hash, &stoppable{ctx, f})
	if err != nil {
		return Input{}, fmt.Errorf("%s: %w", path, err)
	}
	return Input{path, size, hex.EncodeToString(hash.Sum(nil)), points}, nil
}

// A stoppable reader ends with its context.
type stoppable struct {
	ctx context.Context
	r   io.Reader
}

func (s *stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}

// agree returns the one CRS of all files, complete, or the one that the user
// gave. Lengths and areas need a projected CRS of known units.
func agree(files []file, o Options, r *Record) (vector.CRS, error) {
	first, err := stated(files, o, r)
	if err != nil {
		return vector.CRS{}, err
	}
	if o.CRS != "" {
		if first, err = override(first, o, r); err != nil {
			return vector.CRS{}, err
		}
	}
	if err := measurable(first); err != nil {
		return vector.CRS{}, err
	}
	return withUnits(first, o, r)
}

// stated returns what the files say of their CRS.
func stated(files []file, o Options, r *Record) (vector.CRS, error) {
	var first vector.CRS
	for i, f := range files {
		c, warnings, err := crs.Complete(f.Info().CRS)
		switch {
		case err != nil && o.CRS == "":
			return c, fmt.Errorf("%s: %w; name the right one with --crs", f.record.Path, err)
		case err != nil:
			c = vector.CRS{}
		}
		for _, w := range warnings {
			r.warn(o, fmt.Sprintf("%s: %s", filepath.Base(f.record.Path), w))
		}
		if i == 0 {
			first = c
			continue
		}
		same := crs.Same(first, c) || !first.Known() && !c.Known()
		if o.CRS == "" && (!same || first.Horizontal != c.Horizontal || first.Vertical != c.Vertical) {
			return c, fmt.Errorf("%s is in %s (%s), %s in %s (%s): bring the files to one CRS, or name the one that holds for all with --crs",
				files[0].record.Path, first, first.Horizontal.Name, f.record.Path, c, c.Horizontal.Name)
		}
	}
	return first, nil
}

// override returns the CRS that the user named, with a warning where the
// files say something else.
func override(said vector.CRS, o Options, r *Record) (vector.CRS, error) {
	named, err := crs.Parse(o.CRS)
	if err != nil {
		return named, &OptionError{fmt.Errorf("--crs: %w", err)}
	}
	if said.Known() && !crs.Same(said, named) {
		r.warn(o, fmt.Sprintf("the files say %s, --crs says %s: --crs is taken", said, named))
	}
	if named.VerticalCode == 0 && said.Vertical.Known() && !named.Vertical.Known() {
		named.Vertical, named.VerticalCode = said.Vertical, said.VerticalCode
	}
	return named, nil
}

// measurable refuses a CRS in which lengths are not lengths on the ground.
func measurable(c vector.CRS) error {
	switch c.Kind {
	case vector.GeographicCRS, vector.GeocentricCRS:
		return fmt.Errorf("the cloud is in %s, whose coordinates are no lengths on a plane: reproject it to a projected CRS first", c)
	case vector.WebMercatorCRS:
		return fmt.Errorf("the cloud is in %s, whose lengths grow with latitude: reproject it to the CRS of the country first", c)
	}
	return nil
}

// ErrNoUnit is returned when neither the files nor the user name the unit.
var ErrNoUnit = errors.New("the files do not say which unit their coordinates are in: give it with --unit m, ft or usft")

// withUnits completes the units of a CRS.
func withUnits(c vector.CRS, o Options, r *Record) (vector.CRS, error) {
	switch {
	case !c.Horizontal.Known() && !o.Unit.Known():
		return c, ErrNoUnit
	case !c.Horizontal.Known():
		c.Horizontal = o.Unit
	case o.Unit.Known() && o.Unit != c.Horizontal:
		return c, &OptionError{fmt.Errorf("--unit says %s, %s is in %s: leave --unit out, or name the right CRS with --crs", o.Unit.Name, c, c.Horizontal.Name)}
	}
	if !c.Vertical.Known() {
		c.Vertical = c.Horizontal
		r.warn(o, fmt.Sprintf("the files do not say which unit elevations are in: %s is taken, as for the coordinates", c.Vertical.Name))
	}
	if !c.Known() {
		r.warn(o, "the CRS is unknown: layers are written in an undefined Cartesian one, and no RFC 7946 GeoJSON, which needs a place on the Earth; name it with --crs")
	}
	return c, nil
}
