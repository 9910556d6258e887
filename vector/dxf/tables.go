package dxf

import "quoin/vector"

// firstHandle is where handles start: those below are of tables and blocks,
// which refer to one another.
const firstHandle = 0x100

// Handles of what is referred to.
const (
	recordsHandle = "1F" // table of block records
	modelHandle   = "20"
	paperHandle   = "24"
	rootHandle    = "C"
	groupsHandle  = "D"
)

// header writes the units, the extent and the first free handle.
func (d *Drawing) header(p *pen) {
	p.modelSpace = modelHandle
	b := d.bound()
	p.section("HEADER")
	p.variable("$ACADVER", func() { p.text(1, "AC1015") })
	p.variable("$DWGCODEPAGE", func() { p.text(3, "ANSI_1252") })
	p.variable("$INSUNITS", func() { p.integer(70, unitCode(d.Unit)) })
	p.variable("$MEASUREMENT", func() { p.integer(70, flag(d.Unit == vector.Metre)) })
	p.variable("$LUNITS", func() { p.integer(70, 2) }) // decimal
	p.variable("$LUPREC", func() { p.integer(70, 3) })
	p.variable("$EXTMIN", func() { p.place(10, Position{b.Min[0], b.Min[1], 0}) })
	p.variable("$EXTMAX", func() { p.place(10, Position{b.Max[0], b.Max[1], 0}) })
	p.variable("$TEXTSIZE", func() { p.number(40, d.TextHeight()) })
	p.variable("$PDMODE", func() { p.integer(70, 34) }) // a circle with a cross
	p.variable("$PDSIZE", func() { p.number(40, d.TextHeight()/2) })
	// Every entity takes one handle, every vertex of a spatial line too.
	p.variable("$HANDSEED", func() { p.text(5, "FFFFFFF") })
	p.text(0, "ENDSEC")
}

func (p *pen) variable(name string, value func()) {
	p.text(9, name)
	value()
}

func (d *Drawing) tables(p *pen) {
	p.section("TABLES")
	p.table("VPORT", 1, func() { d.view(p) })
	p.table("LTYPE", 3, func() {
		for _, name := range []string{"ByBlock", "ByLayer", "Continuous"} {
			p.entry("LTYPE", "AcDbLinetypeTableRecord", name)
			p.text(3, "")
			p.integer(72, 65)
			p.integer(73, 0)
			p.number(40, 0)
		}
	})
	p.table("LAYER", 1+len(layers()), func() {
		for _, l := range append([]layerStyle{{"0", 7}}, layers()...) {
			p.entry("LAYER", "AcDbLayerTableRecord", l.name)
			p.integer(62, l.colour)
			p.text(6, "Continuous")
		}
	})
	p.table("STYLE", 1, func() {
		p.entry("STYLE", "AcDbTextStyleTableRecord", "STANDARD")
		p.number(40, 0)
		p.number(41, 1)
		p.number(50, 0)
		p.integer(71, 0)
		p.number(42, d.TextHeight())
		p.text(3, "txt")
		p.text(4, "")
	})
	p.table("VIEW", 0, func() {})
	p.table("UCS", 0, func() {})
	p.table("APPID", 1, func() { p.entry("APPID", "AcDbRegAppTableRecord", "ACAD") })
	p.table("DIMSTYLE", 0, func() { p.text(100, "AcDbDimStyleTable") })
	p.records()
	p.text(0, "ENDSEC")
}

// view makes the drawing open on what is drawn.
func (d *Drawing) view(p *pen) {
	b := d.bound()
	width, height := b.Max[0]-b.Min[0], b.Max[1]-b.Min[1]
	p.entry("VPORT", "AcDbViewportTableRecord", "*ACTIVE")
	pair := func(code int, x, y float64) {
		p.number(code, x)
		p.number(code+10, y)
	}
	pair(10, 0, 0)
	pair(11, 1, 1)
	pair(12, (b.Min[0]+b.Max[0])/2, (b.Min[1]+b.Max[1])/2)
	pair(13, 0, 0)
	pair(14, 10, 10)
	pair(15, 10, 10)
	p.place(16, Position{0, 0, 1})
	p.place(17, Position{})
	const margin, aspect = 1.1, 1.5
	p.number(40, margin*max(height, width/aspect, 1))
	p.number(41, aspect)
	p.number(42, 50)
	for _, code := range []int{71, 75, 76, 77, 78} {
		p.integer(code, 0)
	}
	p.integer(72, 100)
	p.integer(73, 1)
	p.integer(74, 3)
}

func (p *pen) table(name string, n int, entries func()) {
	p.text(0, "TABLE")
	p.text(2, name)
	p.text(5, p.name())
	p.text(330, "0")
	p.text(100, "AcDbSymbolTable")
	p.integer(70, n)
	entries()
	p.text(0, "ENDTAB")
}

func (p *pen) entry(kind, class, name string) {
	p.text(0, kind)
	p.text(5, p.name())
	p.text(100, "AcDbSymbolTableRecord")
	p.text(100, class)
	p.text(2, name)
	p.integer(70, 0)
}

// records writes the table of the two blocks that each drawing has.
func (p *pen) records() {
	p.text(0, "TABLE")
	p.text(2, "BLOCK_RECORD")
	p.text(5, recordsHandle)
	p.text(330, "0")
	p.text(100, "AcDbSymbolTable")
	p.integer(70, 2)
	for _, r := range [][2]string{{modelHandle, "*Model_Space"}, {paperHandle, "*Paper_Space"}} {
		p.text(0, "BLOCK_RECORD")
		p.text(5, r[0])
		p.text(330, recordsHandle)
		p.text(100, "AcDbSymbolTableRecord")
		p.text(100, "AcDbBlockTableRecord")
		p.text(2, r[1])
	}
	p.text(0, "ENDTAB")
}

// blocks writes the two blocks, both empty: what is drawn stands in ENTITIES.
func blocks(p *pen) {
	p.section("BLOCKS")
	for _, r := range [][2]string{{modelHandle, "*Model_Space"}, {paperHandle, "*Paper_Space"}} {
		p.block("BLOCK", r[0], "AcDbBlockBegin")
		p.text(2, r[1])
		p.integer(70, 0)
		p.place(10, Position{})
		p.text(3, r[1])
		p.text(1, "")
		p.block("ENDBLK", r[0], "AcDbBlockEnd")
	}
	p.text(0, "ENDSEC")
}

func (p *pen) block(kind, owner, class string) {
	p.text(0, kind)
	p.text(5, p.name())
	p.text(330, owner)
	p.text(100, "AcDbEntity")
	p.text(8, "0")
	p.text(100, class)
}

// objects writes the root dictionary, without which a drawing is refused.
func objects(p *pen) {
	p.section("OBJECTS")
	p.text(0, "DICTIONARY")
	p.text(5, rootHandle)
	p.text(330, "0")
	p.text(100, "AcDbDictionary")
	p.integer(281, 1)
	p.text(3, "ACAD_GROUP")
	p.text(350, groupsHandle)
	p.text(0, "DICTIONARY")
	p.text(5, groupsHandle)
	p.text(330, rootHandle)
	p.text(100, "AcDbDictionary")
	p.integer(281, 1)
	p.text(0, "ENDSEC")
}
