// Package layered codes the chunks of point formats 6 to 10, in which each
// field has its own arithmetic stream, its layer.
//
// Points are coded in blocks, a layer after the other: the state of a coder
// and its models stay close at hand while it runs over the block. What one
// layer must know of another, all of it from the first, is kept in a step a
// point.
package layered

// Format says what records are made of.
type Format struct {
	// Colours, NIR and Packets say which parts follow the core of a point.
	// There is no NIR without Colours.
	Colours, NIR, Packets bool
	// Extra is the number of extra bytes.
	Extra int
	// Version is that of the coding of all items, 3 or 4.
	Version int
}

// The layers of a point's core. Those of the other parts follow.
const (
	LayerXY = iota
	LayerZ
	LayerClass
	LayerFlags
	LayerIntensity
	LayerAngle
	LayerUser
	LayerSource
	LayerTime
	coreLayers
)

const (
	coreSize   = 30
	colourSize = 6
	nirSize    = 2
	packetSize = 29
)

// The places of the core's fields.
const (
	atX         = 0
	atY         = 4
	atZ         = 8
	atIntensity = 12
	atReturns   = 14
	atFlags     = 15
	atClass     = 16
	atUser      = 17
	atAngle     = 18
	atSource    = 20
	atTime      = 22
)

// size returns the length of a record.
func (f Format) size() int {
	n := coreSize + f.Extra
	if f.Colours {
		n += colourSize
	}
	if f.NIR {
		n += nirSize
	}
	if f.Packets {
		n += packetSize
	}
	return n
}

// layers returns the layers of a record in their order, for decoding if search
// is set.
func (f Format) layers(search bool) []layer {
	list := []layer{
		newPlaces(search), newHeights(search), newClasses(search), newFlags(search), newIntensities(search),
		newAngles(search), newUsers(search), newSources(search), newTimes(search),
	}
	at := coreSize
	if f.Colours {
		list = append(list, newColours(at, f.Version, search))
		at += colourSize
	}
	if f.NIR {
		list = append(list, newInfrared(at, f.Version, search))
		at += nirSize
	}
	if f.Packets {
		list = append(list, newPackets(at, f.Version, search))
		at += packetSize
	}
	for i := range f.Extra {
		list = append(list, newByte(at+i, f.Version, search))
	}
	return list
}
