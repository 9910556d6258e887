// Package pointwise codes the chunks of point formats 0 to 5, in which all
// fields of a point follow one another in one arithmetic stream.
package pointwise

// Format says what records are made of.
type Format struct {
	// Times, Colours and Packets say which parts follow the core of a point.
	Times, Colours, Packets bool
	// Extra is the number of extra bytes.
	Extra int
	// Version is that of the coding of all items, 1 or 2.
	Version int
}

const (
	coreSize   = 20
	timeSize   = 8
	colourSize = 6
	packetSize = 29
)

// A layout has the places of a record's parts.
type layout struct {
	Format
	time, colour, packet, extra, size int
}

func (f Format) layout() layout {
	l := layout{Format: f, time: coreSize}
	l.colour = l.time
	if f.Times {
		l.colour += timeSize
	}
	l.packet = l.colour
	if f.Colours {
		l.packet += colourSize
	}
	l.extra = l.packet
	if f.Packets {
		l.extra += packetSize
	}
	l.size = l.extra + f.Extra
	return l
}
