package dxf

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"quoin/vector"
	"quoin/vector/atomicfile"
)

// Write creates the file at path, or replaces it. It appears whole or not at
// all; the same drawing gives the same bytes.
func (d *Drawing) Write(path string) error {
	err := atomicfile.Write(path, func(w io.Writer) error {
		buffer := bufio.NewWriter(w)
		d.write(&pen{w: buffer, handle: firstHandle})
		return buffer.Flush()
	})
	if err != nil {
		return fmt.Errorf("dxf: write %s: %w", path, err)
	}
	return nil
}

// A pen writes pairs of a group code and a value. Errors stay in the buffered
// writer, whose Flush returns them.
type pen struct {
	w      *bufio.Writer
	handle int
	// modelSpace is the handle of the block record that owns all entities.
	modelSpace string
}

func (p *pen) text(code int, value string) { fmt.Fprintf(p.w, "%3d\n%s\n", code, value) }
func (p *pen) integer(code, value int)     { p.text(code, strconv.Itoa(value)) }

// number writes 0.1 mm at the magnitude of coordinates, as little as a
// delivery holds, and keeps a point, by which readers know it for a real.
func (p *pen) number(code int, value float64) {
	s := strings.TrimRight(strconv.FormatFloat(value, 'f', 6, 64), "0")
	if strings.HasSuffix(s, ".") {
		s += "0"
	}
	p.text(code, s)
}

func (p *pen) place(code int, at Position) {
	p.number(code, at.X)
	p.number(code+10, at.Y)
	p.number(code+20, at.Z)
}

// name gives what comes next a handle of its own.
func (p *pen) name() string {
	p.handle++
	return strconv.FormatInt(int64(p.handle), 16)
}

// begin starts an entity in model space.
func (p *pen) begin(kind, layer, class string) {
	p.text(0, kind)
	p.text(5, p.name())
	p.text(330, p.modelSpace)
	p.text(100, "AcDbEntity")
	p.text(8, layer)
	if class != "" {
		p.text(100, class)
	}
}

// The codes of $INSUNITS; 0 for a unit that is not known.
func unitCode(u vector.Unit) int {
	switch u {
	case vector.Metre:
		return 6
	case vector.Foot:
		return 2
	case vector.USSurveyFoot:
		return 21
	}
	return 0
}

func (d *Drawing) write(p *pen) {
	d.header(p)
	d.tables(p)
	blocks(p)
	p.section("ENTITIES")
	for _, l := range d.lines {
		if l.elevated {
			p.spatial(l)
		} else {
			p.flat(l)
		}
	}
	for _, m := range d.marks {
		p.begin("POINT", m.layer, "AcDbPoint")
		p.place(10, m.at)
	}
	for _, t := range d.texts {
		p.words(t, d.TextHeight())
	}
	p.text(0, "ENDSEC")
	objects(p)
	p.text(0, "EOF")
}

func (p *pen) section(name string) {
	p.text(0, "SECTION")
	p.text(2, name)
}

// flat writes a polyline at height 0.
func (p *pen) flat(l polyline) {
	p.begin("LWPOLYLINE", l.layer, "AcDbPolyline")
	p.integer(90, len(l.at))
	p.integer(70, flag(l.closed))
	for _, q := range l.at {
		p.number(10, q.X)
		p.number(20, q.Y)
	}
}

// spatial writes a polyline whose vertices have heights.
func (p *pen) spatial(l polyline) {
	const is3D = 8
	p.begin("POLYLINE", l.layer, "AcDb3dPolyline")
	p.integer(66, 1)
	p.place(10, Position{})
	p.integer(70, is3D|flag(l.closed))
	for _, q := range l.at {
		p.begin("VERTEX", l.layer, "AcDbVertex")
		p.text(100, "AcDb3dPolylineVertex")
		p.place(10, q)
		p.integer(70, 32)
	}
	p.begin("SEQEND", l.layer, "")
}

func flag(set bool) int {
	if set {
		return 1
	}
	return 0
}

func (p *pen) words(t text, height float64) {
	p.begin("TEXT", t.layer, "AcDbText")
	p.place(10, t.at)
	p.number(40, height)
	p.text(1, plain(t.words))
	p.number(50, t.angle)
	p.text(7, "STANDARD")
	p.integer(72, 1) // centred
	p.place(11, t.at)
	p.text(100, "AcDbText")
	p.integer(73, 2) // in the middle of its height
}

// plain returns text on one line in ASCII, with what is not in the escapes of
// the format.
func plain(s string) string {
	var b strings.Builder
	for _, r := range strings.ToValidUTF8(s, "?") {
		switch {
		case r < ' ' || r == 0x7f:
			b.WriteByte(' ')
		case r < 0x80:
			b.WriteRune(r)
		case r <= 0xffff:
			fmt.Fprintf(&b, `\U+%04X`, r)
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}
