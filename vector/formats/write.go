package formats

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/crs"
	"quoin/vector/dxf"
	"quoin/vector/exchange"
	"quoin/vector/geojson"
	"quoin/vector/geoparquet"
	"quoin/vector/gpkg"
	"quoin/vector/layer"
	"quoin/vector/statement"
	"quoin/vector/style"
)

// Names of files and folders in a delivery. A format with a file for each layer
// has a folder of its name; the GeoJSON of the footprints lies outside of it,
// for those who want nothing else.
const (
	FileGeoPackage       = "footprints.gpkg"
	FileGeoJSON          = "footprints.geojson"
	FileProjectedGeoJSON = "footprints-projected.geojson"
)

// Options govern what is written.
type Options struct {
	Formats []Format
	// WithZ puts elevations into geometries, where the format's coordinates
	// can have them.
	WithZ bool
	// ProjectedGeoJSON adds the footprints as GeoJSON in the CRS of the layers.
	ProjectedGeoJSON bool
	// AllowBallpark accepts a transformation to longitude and latitude without
	// knowledge of the datums.
	AllowBallpark bool
	// Middle is where that transformation is chosen; the zero point means the
	// middle of the footprints.
	Middle orb.Point
	// Drawing says what the DXF shows beside outlines and corners; WithZ gives
	// it elevations as well.
	Drawing dxf.Options
}

// A Result says what was written.
type Result struct {
	// Files are names in the folder, with slashes, folders with one at the end.
	Files []string
	// Notes are what formats can't hold; Warnings what may be wrong.
	Notes, Warnings []string
	// ToWGS84 is what was done to come to longitude and latitude; nil when
	// nothing was.
	ToWGS84 *crs.Operation
}

// Write writes the set into a folder that exists, whose files nobody reads yet.
// The CRS must be complete (crs.Complete). The same set and options give the
// same bytes.
func Write(ctx context.Context, folder string, s layer.Set, o Options) (Result, error) {
	s = s.Flat()
	if o.WithZ {
		s = s.Raised()
	}
	w := &writer{ctx: ctx, folder: folder, set: s, o: o}
	if err := w.define(); err != nil {
		return w.result, err
	}
	steps := map[Format]func() error{
		GeoPackage: w.geoPackage, GeoJSON: w.geoJSON, GeoJSONLines: w.geoJSONLines,
		FlatGeobuf: w.flatGeobuf, GeoParquet: w.geoParquet, Shapefile: w.shapefile, DXF: w.dxf,
	}
	if o.ProjectedGeoJSON {
		if err := w.projectedGeoJSON(); err != nil {
			return w.result, err
		}
	}
	for _, f := range o.Formats {
		if err := steps[f](); err != nil {
			return w.result, err
		}
	}
	if err := w.styles(); err != nil {
		return w.result, err
	}
	return w.result, w.metadata()
}

// writer is the state of one delivery being written.
type writer struct {
	ctx    context.Context
	folder string
	set    layer.Set
	o      Options
	result Result
	// wkt is the definition in the version of well-known text that most read;
	// empty for an unknown CRS.
	wkt string
	// geographic is set by the first that needs it; refused says why there is
	// none.
	geographic *crs.Transformer
	refused    bool
}

func (w *writer) define() error {
	if !w.set.CRS.Known() {
		return nil
	}
	var err error
	if w.wkt, err = crs.Definition(w.set.CRS, crs.WKT1); err != nil {
		if w.wkt, err = crs.Definition(w.set.CRS, crs.WKT2); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) path(name string) string { return filepath.Join(w.folder, filepath.FromSlash(name)) }

// wrote counts a file, or a folder when the name ends so.
func (w *writer) wrote(name string) { w.result.Files = append(w.result.Files, name) }

func (w *writer) note(format string, args ...any) {
	w.result.Notes = append(w.result.Notes, fmt.Sprintf(format, args...))
}

func (w *writer) warn(format string, args ...any) {
	w.result.Warnings = append(w.result.Warnings, fmt.Sprintf(format, args...))
}

// open makes the folder of a format.
func (w *writer) open(f Format) (string, error) {
	name := string(f) + "/"
	if err := os.MkdirAll(w.path(name), 0o755); err != nil {
		return "", fmt.Errorf("folder of %s: %w", f, err)
	}
	w.wrote(name)
	return w.path(name), nil
}

func (w *writer) geoPackage() error {
	w.wrote(FileGeoPackage)
	return gpkg.Write(w.ctx, w.path(FileGeoPackage), w.set, gpkg.Options{SRSDefinition: w.wkt})
}

// toWGS84 chooses the transformation, or says why there is none.
func (w *writer) toWGS84() (bool, error) {
	if w.geographic != nil || w.refused {
		return w.geographic != nil, nil
	}
	w.refused = true
	c := w.set.CRS
	if !c.Known() {
		w.warn("no GeoJSON was written: the CRS is unknown, and GeoJSON is in longitude and latitude")
		return false, nil
	}
	middle := w.o.Middle
	if middle == (orb.Point{}) {
		middle = w.set.Middle()
	}
	to, err := crs.NewTransformer(c, crs.WGS84(), middle, crs.Options{AllowBallpark: w.o.AllowBallpark})
	if errors.Is(err, crs.ErrBallpark) {
		w.warn("no GeoJSON was written: how %s lies to WGS 84 is not known here to better than hundreds of metres", c)
		return false, nil
	}
	if err != nil {
		return false, err
	}
	operation := to.Operation()
	if operation.Ballpark {
		w.warn("the GeoJSON may be off by hundreds of metres: how %s lies to WGS 84 is not known here", c)
	}
	w.geographic, w.result.ToWGS84 = to, &operation
	return true, nil
}

func (w *writer) geoJSON() error {
	if ok, err := w.toWGS84(); !ok {
		return err
	}
	for _, t := range w.set.Tables {
		name := string(GeoJSON) + "/" + t.Layer.Name + ".geojson"
		if t.Layer.Name == "footprints" {
			name = FileGeoJSON
			w.wrote(name)
		} else if err := os.MkdirAll(w.path(string(GeoJSON)), 0o755); err != nil {
			return fmt.Errorf("folder of %s: %w", GeoJSON, err)
		}
		if err := geojson.WriteTable(w.ctx, w.path(name), t, w.geographic.Forward); err != nil {
			return err
		}
	}
	w.wrote(string(GeoJSON) + "/")
	w.flat("GeoJSON")
	return nil
}

// flat notes that a format in longitude and latitude has no elevations.
func (w *writer) flat(format string) {
	if w.o.WithZ {
		w.note("%s: geometries are flat, as its third coordinate is a height above the ellipsoid; elevations are in the attributes", format)
	}
}

func (w *writer) geoJSONLines() error {
	if ok, err := w.toWGS84(); !ok {
		return err
	}
	folder, err := w.open(GeoJSONLines)
	if err != nil {
		return err
	}
	for _, t := range w.set.Tables {
		if err := geojson.WriteLines(w.ctx, filepath.Join(folder, t.Layer.Name+".geojsonl"), t, w.geographic.Forward); err != nil {
			return err
		}
	}
	w.flat("GeoJSON lines")
	return nil
}

func (w *writer) projectedGeoJSON() error {
	t, ok := w.set.Table("footprints")
	if !ok {
		return nil
	}
	w.wrote(FileProjectedGeoJSON)
	return geojson.WriteProjected(w.ctx, w.path(FileProjectedGeoJSON), t, w.set.CRS)
}

func (w *writer) geoParquet() error {
	folder, err := w.open(GeoParquet)
	if err != nil {
		return err
	}
	for _, t := range w.set.Tables {
		if err := geoparquet.Write(w.ctx, filepath.Join(folder, t.Layer.Name+".parquet"), t, w.set.CRS); err != nil {
			return err
		}
	}
	return nil
}

func (w *writer) flatGeobuf() error {
	folder, err := w.open(FlatGeobuf)
	if err != nil {
		return err
	}
	notes, err := exchange.FlatGeobuf(w.ctx, folder, w.set, w.wkt)
	w.result.Notes = append(w.result.Notes, notes...)
	return err
}

func (w *writer) shapefile() error {
	folder, err := w.open(Shapefile)
	if err != nil {
		return err
	}
	notes, err := exchange.Shapefile(w.ctx, folder, w.set, w.wkt)
	w.result.Notes = append(w.result.Notes, notes...)
	return err
}

// FileMetadata is the metadata as a file, for catalogues.
const FileMetadata = "metadata.xml"

// styles writes how each layer may be drawn.
func (w *writer) styles() error {
	const folder = "style/"
	if err := os.MkdirAll(w.path(folder), 0o755); err != nil {
		return fmt.Errorf("folder of styles: %w", err)
	}
	w.wrote(folder)
	for _, t := range w.set.Tables {
		if t.Layer.Geometry == layer.None {
			continue
		}
		if err := writeFile(w.path(folder+t.Layer.Name+".sld"), style.SLD(t.Layer)); err != nil {
			return err
		}
	}
	return nil
}

// metadata writes the record of ISO 19115-3 that the delivery has; an older one
// may have none.
func (w *writer) metadata() error {
	for _, m := range w.set.Metadata {
		if m.Standard == statement.ISO19115 {
			w.wrote(FileMetadata)
			return writeFile(w.path(FileMetadata), []byte(m.Text))
		}
	}
	return nil
}

func writeFile(path string, content []byte) error {
	return atomicfile.Write(path, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// Names of the files of a drawing.
const (
	FileDrawing    = "drawing.dxf"
	FileCornerList = "corners.csv"
)

func (w *writer) dxf() error {
	folder, err := w.open(DXF)
	if err != nil {
		return err
	}
	o := w.o.Drawing
	o.Spatial = o.Spatial || w.o.WithZ
	if err := dxf.Draft(w.set.Tables, w.set.CRS.Horizontal, o).Write(filepath.Join(folder, FileDrawing)); err != nil {
		return err
	}
	w.note("DXF: the drawing has outlines, corners and texts, and no table of attributes")
	if w.set.CRS.Known() {
		w.note("DXF: a drawing has no place for its CRS, which is %s", w.set.CRS)
	}
	corners, ok := w.set.Table("corners")
	if !ok {
		return nil
	}
	return dxf.WriteCornerList(filepath.Join(folder, FileCornerList), corners)
}

// Read returns the layers of a delivery: of its folder, or of its GeoPackage.
// The CRS is complete.
func Read(path string) (layer.Set, error) {
	if info, err := os.Stat(path); err != nil {
		return layer.Set{}, err
	} else if info.IsDir() {
		path = filepath.Join(path, FileGeoPackage)
	}
	s, err := gpkg.ReadSet(path)
	if err != nil {
		return s, err
	}
	if s.CRS, _, err = crs.Complete(s.CRS); err != nil {
		return s, fmt.Errorf("%s: %w", path, err)
	}
	s.CRS = vertical(s.CRS)
	return s, nil
}

// vertical takes heights for lengths of the horizontal unit where nothing else
// is said.
func vertical(c vector.CRS) vector.CRS {
	if !c.Vertical.Known() {
		c.Vertical = c.Horizontal
	}
	return c
}
