package geoparquet

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/parquet-go/parquet-go"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/wkb"
)

// Polygons are the polygons of a file.
type Polygons struct {
	// Polygons and IDs have an entry for each polygon. The parts of a
	// multipolygon are entries of their own with the same ID: the value of the
	// column building_id, else the number of the row from 1.
	Polygons []orb.Polygon
	IDs      []string
	// CRS has the identity that the file gives, else its definition as PROJJSON;
	// unknown where it gives none. A file that says nothing is in WGS 84
	// longitude and latitude, by the standard.
	CRS vector.CRS
}

// Read returns the polygons of a GeoParquet file whose geometries are in
// well-known binary. Rows without a geometry are passed over.
//
// Errors are *fs.PathError where there is no such file, and for one that is no
// GeoParquet or holds anything but polygons.
func Read(path string) (Polygons, error) {
	p, err := read(path)
	if err != nil {
		return Polygons{}, fmt.Errorf("geoparquet: read %s: %w", path, err)
	}
	return p, nil
}

func read(path string) (p Polygons, err error) {
	// The library panics on some files that are damaged.
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("damaged: %v", r)
		}
	}()
	in, err := os.Open(path)
	if err != nil {
		return p, err
	}
	defer in.Close()
	size, err := in.Stat()
	if err != nil {
		return p, err
	}
	if err := checkFooter(in, size.Size()); err != nil {
		return p, err
	}
	file, err := parquet.OpenFile(in, size.Size())
	if err != nil {
		return p, err
	}
	geometry, id, err := p.understand(file)
	if err != nil {
		return p, err
	}
	n := 0
	for _, group := range file.RowGroups() {
		if n, err = p.group(group, geometry, id, n); err != nil {
			return p, err
		}
	}
	return p, nil
}

// checkFooter refuses a file whose last bytes say that its metadata are longer
// than the file: the library makes room for as much, up to 4 GB, before it looks.
// The file ends with their length in four bytes and a word of four, and begins
// with one (Apache Parquet, file format).
func checkFooter(in io.ReaderAt, size int64) error {
	const word = 4
	var end [2 * word]byte
	if size < 3*word {
		return errors.New("too short for a Parquet file")
	}
	if _, err := in.ReadAt(end[:], size-int64(len(end))); err != nil {
		return err
	}
	if n := int64(binary.LittleEndian.Uint32(end[:word])); n > size-3*word {
		return fmt.Errorf("damaged: metadata of %d bytes in a file of %d", n, size)
	}
	return nil
}

// understand reads the metadata and returns the positions of the columns of the
// geometry and of the identifier; the latter -1 where there is none.
func (p *Polygons) understand(file *parquet.File) (geometry, id int, err error) {
	text, ok := file.Lookup("geo")
	if !ok {
		return 0, 0, errors.New("it is Parquet, but not GeoParquet: it has no metadata geo")
	}
	var told about
	if err := json.Unmarshal([]byte(text), &told); err != nil {
		return 0, 0, fmt.Errorf("metadata geo: %w", err)
	}
	column, ok := told.Columns[told.Primary]
	if !ok || column.Encoding != "WKB" {
		return 0, 0, fmt.Errorf("its geometry is encoded as %q: write it as WKB", column.Encoding)
	}
	leaf, ok := file.Schema().Lookup(told.Primary)
	if !ok {
		return 0, 0, fmt.Errorf("no column %q", told.Primary)
	}
	if p.CRS, err = readCRS(column.CRS); err != nil {
		return 0, 0, err
	}
	id = -1
	if leaf, ok := file.Schema().Lookup("building_id"); ok {
		id = leaf.ColumnIndex
	}
	return leaf.ColumnIndex, id, nil
}

func readCRS(text json.RawMessage) (vector.CRS, error) {
	switch string(text) {
	case "":
		return vector.CRS{Name: "WGS 84 longitude and latitude", Kind: vector.GeographicCRS}, nil
	case "null":
		return vector.CRS{}, nil
	}
	var told struct {
		Name string `json:"name"`
		ID   struct {
			Authority string          `json:"authority"`
			Code      json.RawMessage `json:"code"`
		} `json:"id"`
	}
	if err := json.Unmarshal(text, &told); err != nil {
		return vector.CRS{}, fmt.Errorf("its CRS: %w", err)
	}
	c := vector.CRS{Name: told.Name}
	if json.Unmarshal(told.ID.Code, &c.Code) == nil && c.Code > 0 {
		c.Authority = told.ID.Authority
		return c, nil
	}
	c.Code, c.WKT = 0, string(text) // PROJ reads either text
	return c, nil
}

func (p *Polygons) group(group parquet.RowGroup, geometry, id, n int) (int, error) {
	rows := group.Rows()
	defer rows.Close()
	buffer := make([]parquet.Row, 256)
	for {
		count, err := rows.ReadRows(buffer)
		for _, row := range buffer[:count] {
			n++
			if err := p.row(row, geometry, id, n); err != nil {
				return n, fmt.Errorf("row %d: %w", n, err)
			}
		}
		if errors.Is(err, io.EOF) {
			return n, nil
		}
		if err != nil {
			return n, err
		}
	}
}

func (p *Polygons) row(row parquet.Row, geometry, id, n int) error {
	name := fmt.Sprint(n)
	var bytes []byte
	for _, v := range row {
		switch {
		case v.IsNull():
		case v.Column() == geometry:
			bytes = v.ByteArray()
		case v.Column() == id:
			name = v.String()
		}
	}
	if bytes == nil {
		return nil
	}
	g, _, err := wkb.Decode(bytes)
	if err != nil {
		return err
	}
	switch g := g.(type) {
	case orb.Polygon:
		p.Polygons, p.IDs = append(p.Polygons, g), append(p.IDs, name)
	case orb.MultiPolygon:
		for _, part := range g {
			p.Polygons, p.IDs = append(p.Polygons, part), append(p.IDs, name)
		}
	default:
		return fmt.Errorf("it is a %s, not a polygon", g.GeoJSONType())
	}
	return nil
}
