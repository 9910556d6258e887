package geojson

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/layer"
)

// collection is what a file holds. Members come in a fixed order, a feature a
// line.
type collection struct {
	columns []layer.Column
	// identified collections have the value of the first column as the id of a
	// feature: it occurs once.
	identified bool
	features   []feature
	// decimals of a coordinate; −1 for as many as tell it from its neighbours.
	decimals  int
	bbox      []float64
	projected bool
	crs       vector.CRS
}

func newCollection(l layer.Layer) collection {
	return collection{columns: l.Columns, identified: l.Name == layer.Footprints().Name, decimals: decimals}
}

func (c collection) write(ctx context.Context, w io.Writer) error {
	var b bytes.Buffer
	b.WriteString(`{"type":"FeatureCollection"`)
	if c.bbox != nil {
		b.WriteString(`,"bbox":[`)
		for i, v := range c.bbox {
			if i > 0 {
				b.WriteByte(',')
			}
			c.number(&b, v)
		}
		b.WriteByte(']')
	}
	b.WriteString(`,"features":[`)
	for i, f := range c.features {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := c.feature(&b, f); err != nil {
			return err
		}
		if _, err := b.WriteTo(w); err != nil {
			return err
		}
	}
	b.WriteString("\n]}\n")
	_, err := b.WriteTo(w)
	return err
}

// writeLines writes one feature a line and nothing else.
func (c collection) writeLines(ctx context.Context, w io.Writer) error {
	var b bytes.Buffer
	for _, f := range c.features {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := c.feature(&b, f); err != nil {
			return err
		}
		b.WriteByte('\n')
		if _, err := b.WriteTo(w); err != nil {
			return err
		}
	}
	return nil
}

func (c collection) feature(b *bytes.Buffer, f feature) error {
	b.WriteString(`{"type":"Feature"`)
	if c.identified {
		id, err := marshal(f.row.Values[0])
		if err != nil {
			return err
		}
		b.WriteString(`,"id":`)
		b.Write(id)
	}
	b.WriteString(`,"geometry":`)
	(&pen{c, f.z}).geometry(b, f.parts)
	b.WriteString(`,"properties":{`)
	for i, column := range c.columns {
		if i > 0 {
			b.WriteByte(',')
		}
		value, err := marshal(f.row.Values[i])
		if err != nil {
			return err
		}
		b.WriteString(`"` + column.Name + `":`)
		b.Write(value)
	}
	if c.projected {
		var name any
		if c.crs.Known() {
			name = c.crs.String()
		}
		value, err := marshal(name)
		if err != nil {
			return err
		}
		b.WriteString(`,"` + CRSProperty + `":`)
		b.Write(value)
	}
	b.WriteString(`}}`)
	return nil
}

// marshal is json.Marshal without the escapes that are meant for web pages.
func marshal(v any) ([]byte, error) {
	if s, ok := v.(string); ok {
		v = strings.ToValidUTF8(s, "\uFFFD")
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimRight(b.Bytes(), "\n"), err
}

// A pen draws one feature, and takes elevations off the front of z.
type pen struct {
	collection
	z []float64
}

func (c *pen) geometry(b *bytes.Buffer, parts []orb.Geometry) {
	if len(parts) == 0 {
		b.WriteString("null")
		return
	}
	kind := parts[0].GeoJSONType()
	if len(parts) == 1 {
		b.WriteString(`{"type":"` + kind + `","coordinates":`)
		c.coordinates(b, parts[0])
		b.WriteByte('}')
		return
	}
	b.WriteString(`{"type":"Multi` + kind + `","coordinates":[`)
	for i, p := range parts {
		if i > 0 {
			b.WriteByte(',')
		}
		c.coordinates(b, p)
	}
	b.WriteString(`]}`)
}

func (c *pen) coordinates(b *bytes.Buffer, g orb.Geometry) {
	switch g := g.(type) {
	case orb.Point:
		c.position(b, g)
	case orb.LineString:
		c.positions(b, g)
	case orb.Polygon:
		b.WriteByte('[')
		for i, ring := range g {
			if i > 0 {
				b.WriteByte(',')
			}
			c.positions(b, orb.LineString(ring))
		}
		b.WriteByte(']')
	}
}

func (c *pen) positions(b *bytes.Buffer, line orb.LineString) {
	b.WriteByte('[')
	for i, q := range line {
		if i > 0 {
			b.WriteByte(',')
		}
		c.position(b, q)
	}
	b.WriteByte(']')
}

func (c *pen) position(b *bytes.Buffer, q orb.Point) {
	b.WriteByte('[')
	c.number(b, q[0])
	b.WriteByte(',')
	c.number(b, q[1])
	if len(c.z) > 0 {
		b.WriteByte(',')
		c.number(b, c.z[0])
		c.z = c.z[1:]
	}
	b.WriteByte(']')
}

// number writes a coordinate without the zeros at its end.
func (c collection) number(b *bytes.Buffer, v float64) {
	if v == 0 {
		v = math.Abs(v) // no negative zero
	}
	text := strconv.AppendFloat(b.AvailableBuffer(), v, 'f', c.decimals, 64)
	if c.decimals > 0 {
		text = bytes.TrimRight(bytes.TrimRight(text, "0"), ".")
		if string(text) == "-0" || len(text) == 0 {
			text = []byte("0")
		}
	}
	b.Write(text)
}
