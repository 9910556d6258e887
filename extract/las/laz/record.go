package laz

import (
	"encoding/binary"
	"fmt"
	"slices"

	"quoin/extract/las/laz/internal/layered"
	"quoin/extract/las/laz/internal/pointwise"
)

// The variable length record that tells how points are compressed.
const (
	UserID   = "laszip encoded"
	RecordID = 22204
)

// Compressor is the way in which points are compressed.
type Compressor uint16

const (
	// Stored points are plain records after all.
	Stored Compressor = iota
	// Pointwise is one endless chunk, without a chunk table.
	Pointwise
	// PointwiseChunked is for formats 0 to 5.
	PointwiseChunked
	// LayeredChunked is for formats 6 to 10.
	LayeredChunked
)

const (
	// VariableChunks is the chunk size of files whose chunk table tells the
	// number of points of each chunk.
	VariableChunks = 1<<32 - 1
	// DefaultChunkSize is the customary number of points a chunk.
	DefaultChunkSize = 50000
	// MaxExtraBytes is the most extra bytes a point that are accepted, for
	// each costs models and, in layered formats, a stream.
	MaxExtraBytes = 4096
)

// ItemType is the type of a part of a record.
type ItemType uint16

// The types of items, as they are numbered in the record.
const (
	ItemBytes     ItemType = 0
	ItemCore10    ItemType = 6
	ItemTime      ItemType = 7
	ItemRGB       ItemType = 8
	ItemPacket    ItemType = 9
	ItemCore14    ItemType = 10
	ItemRGB14     ItemType = 11
	ItemRGBNIR14  ItemType = 12
	ItemPacket14  ItemType = 13
	ItemBytes14   ItemType = 14
	itemUndefined ItemType = 15
)

// sizes are the sizes of items, 0 where there is none.
var sizes = [itemUndefined]int{
	ItemCore10: 20, ItemTime: 8, ItemRGB: 6, ItemPacket: 29,
	ItemCore14: 30, ItemRGB14: 6, ItemRGBNIR14: 8, ItemPacket14: 29,
}

// formats are the items of each point data record format, extra bytes apart.
var formats = [][]ItemType{
	{ItemCore10},
	{ItemCore10, ItemTime},
	{ItemCore10, ItemRGB},
	{ItemCore10, ItemTime, ItemRGB},
	{ItemCore10, ItemTime, ItemPacket},
	{ItemCore10, ItemTime, ItemRGB, ItemPacket},
	{ItemCore14},
	{ItemCore14, ItemRGB14},
	{ItemCore14, ItemRGBNIR14},
	{ItemCore14, ItemPacket14},
	{ItemCore14, ItemRGBNIR14, ItemPacket14},
}

// firstLayered is the first format that is coded in layers.
const firstLayered = 6

// An Item is a part of a record and the version of its coding.
type Item struct {
	Type    ItemType
	Size    int
	Version int
}

// Record is the content of the LASzip record.
type Record struct {
	Compressor Compressor
	// Major, Minor and Revision tell what wrote the file; they mean nothing
	// for reading it.
	Major, Minor uint8
	Revision     uint16
	// Options has bit 0 set where the points are of a newer format that was
	// rewritten as an older one.
	Options uint32
	// ChunkSize is the number of points a chunk, or VariableChunks.
	ChunkSize uint32
	// SpecialEVLRs and SpecialOffset are -1 in all files known.
	SpecialEVLRs, SpecialOffset int64
	Items                       []Item
}

const (
	recordHead = 34
	itemLength = 6
)

// NewRecord returns the record for points of a format 0 to 10 and a record
// length, with all that is longer than the format taken as extra bytes:
// pointwise of version 2 or layered of version 3, in chunks of
// DefaultChunkSize.
func NewRecord(format, recordLength int) (Record, error) {
	if format < 0 || format >= len(formats) {
		return Record{}, fmt.Errorf("laz: point format %d is unknown", format)
	}
	rec := Record{
		Compressor: PointwiseChunked, Major: 1, ChunkSize: DefaultChunkSize, SpecialEVLRs: -1, SpecialOffset: -1,
	}
	version, extraType := 2, ItemBytes
	if format >= firstLayered {
		rec.Compressor, version, extraType = LayeredChunked, 3, ItemBytes14
	}
	extra := recordLength
	for _, t := range formats[format] {
		it := Item{t, sizes[t], version}
		if t == ItemPacket {
			it.Version = 1
		}
		rec.Items = append(rec.Items, it)
		extra -= it.Size
	}
	if extra < 0 || extra > MaxExtraBytes {
		return Record{}, fmt.Errorf("laz: records of format %d can't be %d bytes long", format, recordLength)
	}
	if extra > 0 {
		rec.Items = append(rec.Items, Item{extraType, extra, version})
	}
	return rec, nil
}

// ParseRecord reads the payload of the LASzip record. Bytes behind it are
// ignored. What it returns describes one of the point formats.
func ParseRecord(payload []byte) (Record, error) {
	if len(payload) < recordHead {
		return Record{}, fmt.Errorf("laz: the LASzip record has %d bytes, at least %d are needed", len(payload), recordHead)
	}
	le := binary.LittleEndian
	rec := Record{
		Compressor: Compressor(le.Uint16(payload)), Major: payload[4], Minor: payload[5], Revision: le.Uint16(payload[6:]),
		Options: le.Uint32(payload[8:]), ChunkSize: le.Uint32(payload[12:]),
		SpecialEVLRs: int64(le.Uint64(payload[16:])), SpecialOffset: int64(le.Uint64(payload[24:])),
	}
	if coder := le.Uint16(payload[2:]); coder != 0 {
		return Record{}, fmt.Errorf("laz: coder %d is unknown", coder)
	}
	n := int(le.Uint16(payload[32:]))
	if len(payload) < recordHead+n*itemLength {
		return Record{}, fmt.Errorf("laz: the LASzip record is too short for its %d items", n)
	}
	for i := range n {
		b := payload[recordHead+i*itemLength:]
		rec.Items = append(rec.Items, Item{ItemType(le.Uint16(b)), int(le.Uint16(b[2:])), int(le.Uint16(b[4:]))})
	}
	if rec.ChunkSize == 0 {
		rec.ChunkSize = VariableChunks
	}
	_, err := rec.plan()
	return rec, err
}

// Marshal returns the payload of the LASzip record.
func (r Record) Marshal() []byte {
	le := binary.LittleEndian
	b := le.AppendUint16(nil, uint16(r.Compressor))
	b = le.AppendUint16(b, 0)
	b = append(b, r.Major, r.Minor)
	b = le.AppendUint16(b, r.Revision)
	b = le.AppendUint32(b, r.Options)
	b = le.AppendUint32(b, r.ChunkSize)
	b = le.AppendUint64(b, uint64(r.SpecialEVLRs))
	b = le.AppendUint64(b, uint64(r.SpecialOffset))
	b = le.AppendUint16(b, uint16(len(r.Items)))
	for _, it := range r.Items {
		b = le.AppendUint16(b, uint16(it.Type))
		b = le.AppendUint16(b, uint16(it.Size))
		b = le.AppendUint16(b, uint16(it.Version))
	}
	return b
}

// Format returns the point data record format that the items make up, -1 if
// they make up none.
func (r Record) Format() int {
	p, err := r.plan()
	if err != nil {
		return -1
	}
	return p.format
}

// RecordLength returns the length of an uncompressed point record.
func (r Record) RecordLength() int {
	n := 0
	for _, it := range r.Items {
		n += it.Size
	}
	return n
}

// A plan is what a record says of the coding, checked.
type plan struct {
	format  int
	extra   int
	version int
	size    int
	layered bool
}

func (r Record) plan() (plan, error) {
	if r.Compressor > LayeredChunked {
		return plan{}, fmt.Errorf("laz: compressor %d is unknown", r.Compressor)
	}
	var types []ItemType
	p := plan{size: r.RecordLength(), layered: r.Compressor == LayeredChunked}
	for i, it := range r.Items {
		if it.Type >= itemUndefined || it.Type != ItemBytes && it.Type != ItemBytes14 && sizes[it.Type] == 0 {
			return plan{}, fmt.Errorf("laz: item type %d is unknown", it.Type)
		}
		if it.Type != ItemBytes && it.Type != ItemBytes14 {
			if it.Size != sizes[it.Type] {
				return plan{}, fmt.Errorf("laz: item type %d has %d bytes, not %d", it.Type, it.Size, sizes[it.Type])
			}
			types = append(types, it.Type)
		} else {
			if p.extra = it.Size; i != len(r.Items)-1 || p.extra < 1 || p.extra > MaxExtraBytes {
				return plan{}, fmt.Errorf("laz: item %d has %d extra bytes", i, it.Size)
			}
		}
	}
	p.format = slices.IndexFunc(formats, func(f []ItemType) bool { return slices.Equal(f, types) })
	if p.format < 0 {
		return plan{}, fmt.Errorf("laz: items of types %d make up no point format", types)
	}
	return p, r.checkVersions(&p)
}

// checkVersions checks that all items have one version that goes with the
// compressor, and notes it.
func (r Record) checkVersions(p *plan) error {
	if r.Compressor == Stored {
		return nil
	}
	low, extra := 1, ItemBytes
	if p.format >= firstLayered {
		low, extra = 3, ItemBytes14
	}
	if p.layered != (p.format >= firstLayered) {
		return fmt.Errorf("laz: point format %d can't be compressed by compressor %d", p.format, r.Compressor)
	}
	for _, it := range r.Items {
		v := it.Version
		switch {
		case it.Type == ItemPacket && (v == 1 || v == 2):
			continue // both are coded alike
		case p.layered && v == 2:
			v = 3 // an early number of the same coding
		}
		if v != low && v != low+1 {
			return fmt.Errorf("laz: version %d of item type %d is unknown", it.Version, it.Type)
		}
		if (it.Type == ItemBytes || it.Type == ItemBytes14) && it.Type != extra {
			return fmt.Errorf("laz: item type %d doesn't go with point format %d", it.Type, p.format)
		}
		if p.version != 0 && p.version != v {
			return fmt.Errorf("laz: items of versions %d and %d in one file are not supported", p.version, v)
		}
		p.version = v
	}
	return nil
}

// pointwise returns the plan of a format of compressors 1 and 2.
func (p plan) pointwise() pointwise.Format {
	types := formats[p.format]
	return pointwise.Format{
		Times: slices.Contains(types, ItemTime), Colours: slices.Contains(types, ItemRGB),
		Packets: slices.Contains(types, ItemPacket), Extra: p.extra, Version: p.version,
	}
}

// layeredFormat returns the plan of a format of compressor 3.
func (p plan) layeredFormat() layered.Format {
	types := formats[p.format]
	nir := slices.Contains(types, ItemRGBNIR14)
	return layered.Format{
		Colours: nir || slices.Contains(types, ItemRGB14), NIR: nir,
		Packets: slices.Contains(types, ItemPacket14), Extra: p.extra, Version: p.version,
	}
}

// leastChunk returns the fewest bytes that a chunk can have.
func (p plan) leastChunk() int64 {
	if p.layered {
		return int64(p.layeredFormat().Head() + 2*startBytes)
	}
	return int64(p.size + startBytes)
}

// startBytes is the least length of a stream.
const startBytes = 4
