package nadir

import (
	"cmp"
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
)

// side is the side of a tile in pixels, which is that of the files written.
const side = 512

// A value is what a point shows: red, green, blue, intensity.
type value [4]uint16

// A tile holds what is highest in each pixel of a square.
type tile struct {
	height []float32 // −∞ where there is no point
	value  []value
}

func newTile() *tile {
	t := &tile{height: make([]float32, side*side), value: make([]value, side*side)}
	t.clear()
	return t
}

func (t *tile) clear() {
	for i := range t.height {
		t.height[i] = nothing
	}
	clear(t.value)
}

// nothing is the height of a pixel without a point.
var nothing = float32(math.Inf(-1))

// add takes in a point. Of two as high as each other the brighter counts, so that
// the order of points does not matter.
func (t *tile) add(k int, z float32, v value) {
	if old := t.height[k]; z > old || z == old && brighter(v, t.value[k]) {
		t.height[k], t.value[k] = z, v
	}
}

func brighter(a, b value) bool {
	for c := range a {
		if a[c] != b[c] {
			return a[c] > b[c]
		}
	}
	return false
}

// pixelBytes is what a pixel takes, in memory and on disk.
const pixelBytes = 4 + 4*2

// A place is the column and row of a tile.
type place struct{ column, row int }

// An entry is a tile wherever it is.
type entry struct {
	tile *tile // nil when it is on disk
	slot int64 // its place there in tiles, from 1; 0 for none
	used int64 // when it was last looked at
}

// tiles are the tiles of an image that hold points. Those that were not looked at
// for longest are put on disk when memory is short.
type tiles struct {
	entries      map[place]*entry
	limit, live  int
	slots, clock int64
	disk         *os.File
	folder       string
	buffer       []byte
}

// newTiles returns no tiles yet; folder is where tiles go that memory cannot
// hold.
func newTiles(memory int64, folder string) *tiles {
	return &tiles{
		entries: make(map[place]*entry), folder: folder,
		limit: max(int(memory/(pixelBytes*side*side)), 9), // nine are looked at together
	}
}

func (t *tiles) close() {
	if t.disk != nil {
		t.disk.Close()
	}
}

// places lists the tiles in order of rows.
func (t *tiles) places() []place {
	return slices.SortedFunc(maps.Keys(t.entries), func(a, b place) int {
		return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.column, b.column))
	})
}

// at returns a tile, or nil where it has no points.
func (t *tiles) at(p place) (*tile, error) {
	e := t.entries[p]
	if e == nil {
		return nil, nil
	}
	t.clock++
	e.used = t.clock
	if e.tile == nil {
		var err error
		if e.tile, err = t.room(); err != nil {
			return nil, err
		}
		return e.tile, t.load(e)
	}
	return e.tile, nil
}

// make returns a tile, which is made when it is not there.
func (t *tiles) make(p place) (*tile, error) {
	if t.entries[p] != nil {
		return t.at(p)
	}
	m, err := t.room()
	if err != nil {
		return nil, err
	}
	m.clear()
	t.clock++
	t.entries[p] = &entry{tile: m, used: t.clock}
	return m, nil
}

// room returns a tile to fill: a new one, or when memory is short that of the
// entry which was not looked at for longest, with whatever was in it.
func (t *tiles) room() (*tile, error) {
	if t.live < t.limit {
		t.live++
		return newTile(), nil
	}
	var oldest *entry
	for _, e := range t.entries { // in any order: no two were used at the same time
		if e.tile != nil && (oldest == nil || e.used < oldest.used) {
			oldest = e
		}
	}
	err := t.store(oldest)
	m := oldest.tile
	oldest.tile = nil
	return m, err
}

func (t *tiles) store(e *entry) error {
	if t.disk == nil {
		var err error
		if t.disk, err = os.CreateTemp(t.folder, ".nadir-"); err != nil {
			return fmt.Errorf("nadir: put a tile on disk: %w", err)
		}
		os.Remove(t.disk.Name()) // it stays as long as it is open
	}
	if e.slot == 0 {
		t.slots++
		e.slot = t.slots
	}
	b := t.buffer[:0]
	for i, z := range e.tile.height {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(z))
		for _, v := range e.tile.value[i] {
			b = binary.LittleEndian.AppendUint16(b, v)
		}
	}
	t.buffer = b
	if _, err := t.disk.WriteAt(b, (e.slot-1)*int64(len(b))); err != nil {
		return fmt.Errorf("nadir: put a tile on disk: %w", err)
	}
	return nil
}

func (t *tiles) load(e *entry) error {
	b := t.buffer
	if _, err := t.disk.ReadAt(b, (e.slot-1)*int64(len(b))); err != nil {
		return fmt.Errorf("nadir: fetch a tile from disk: %w", err)
	}
	for i := range e.tile.height {
		p := b[i*pixelBytes:]
		e.tile.height[i] = math.Float32frombits(binary.LittleEndian.Uint32(p))
		for c := range e.tile.value[i] {
			e.tile.value[i][c] = binary.LittleEndian.Uint16(p[4+2*c:])
		}
	}
	return nil
}
