package laz

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"quoin/extract/las/laz/internal/arith"
)

const (
	// positionSize is the length of the chunk table's position.
	positionSize = 8
	// tableHead is the length of the table's version and count.
	tableHead = 8
	// tableEntry is the most bytes that an entry takes.
	tableEntry = 2 * arith.MaxInteger
)

// Extent is a chunk's place.
type Extent struct {
	// First is the number of points in the chunks before it.
	First uint64
	// Points is the number of points in it.
	Points uint64
	// Offset and Size are its bytes in the file.
	Offset, Size int64
}

// readFull reads all of b at off, and fails with io.ErrUnexpectedEOF if the
// file ends before.
func readFull(r io.ReaderAt, b []byte, off int64) error {
	n, err := r.ReadAt(b, off)
	if n == len(b) {
		return nil
	}
	if err == io.EOF {
		return io.ErrUnexpectedEOF
	}
	return err
}

// find returns the position of the chunk table.
func (r *Reader) find() (int64, error) {
	least := r.start + positionSize
	at := func(off int64) (int64, error) {
		var b [positionSize]byte
		if err := readFull(r.file, b[:], off); err != nil {
			return 0, err
		}
		return int64(binary.LittleEndian.Uint64(b[:])), nil
	}
	p, err := at(r.start)
	if err != nil {
		return 0, err
	}
	if p >= least && p <= r.size-tableHead {
		return p, nil
	}
	// A writer that couldn't go back has the position stand behind the table.
	last, err := at(r.size - positionSize)
	if err == nil && last >= least && last <= r.size-tableHead-positionSize {
		return last, nil
	}
	switch p {
	case r.start:
		return 0, errors.New("its position was never written")
	default:
		return 0, fmt.Errorf("its position is %d in a file of %d bytes", p, r.size)
	}
}

// readTable reads the chunk table at the given position.
func (r *Reader) readTable(position int64) ([]Extent, error) {
	var head [tableHead]byte
	if err := readFull(r.file, head[:], position); err != nil {
		return nil, err
	}
	if v := binary.LittleEndian.Uint32(head[:]); v != 0 {
		return nil, fmt.Errorf("it has version %d", v)
	}
	n := uint64(binary.LittleEndian.Uint32(head[4:]))
	if err := r.checkCount(n, position); err != nil {
		return nil, err
	}
	if n == 0 {
		return nil, nil
	}
	length := min(r.size-position-tableHead, int64(n)*tableEntry+startBytes)
	buf := make([]byte, length+tableEntry+arith.Pad)
	if err := readFull(r.file, buf[:length], position+tableHead); err != nil {
		return nil, err
	}
	if length < startBytes {
		return nil, ErrShort
	}
	return r.decodeTable(buf, int(length), int(n), position)
}

// checkCount checks the number of chunks, before memory is taken for them.
func (r *Reader) checkCount(n uint64, position int64) error {
	most := uint64(position-r.start-positionSize) / uint64(r.plan.leastChunk())
	switch {
	case n > most:
		return fmt.Errorf("it has %d chunks, and there is room for %d", n, most)
	case n > r.count:
		return fmt.Errorf("it has %d chunks for %d points", n, r.count)
	case r.rec.ChunkSize != VariableChunks && n != ceil(r.count, uint64(r.rec.ChunkSize)):
		return fmt.Errorf("it has %d chunks of %d points for %d points", n, r.rec.ChunkSize, r.count)
	case n == 0 && r.count > 0:
		return fmt.Errorf("it has no chunks for %d points", r.count)
	}
	return nil
}

func ceil(a, b uint64) uint64 {
	n := a / b
	if a%b != 0 {
		n++
	}
	return n
}

func (r *Reader) decodeTable(buf []byte, end, n int, position int64) ([]Extent, error) {
	var d arith.Decoder
	if !d.Start(buf, 0, end) {
		return nil, ErrCorrupt
	}
	c := arith.NewInteger(32, 2, true)
	c.Reset()
	variable := r.rec.ChunkSize == VariableChunks
	list := make([]Extent, 0, n)
	points, size := uint32(0), uint32(0)
	next := Extent{Offset: r.start + positionSize}
	for i := range n {
		if variable {
			points = uint32(d.Integer(&c, int32(points), 0))
		} else {
			points = uint32(min(uint64(r.rec.ChunkSize), r.count-next.First))
		}
		size = uint32(d.Integer(&c, int32(size), 1))
		if d.Bad() {
			return nil, ErrShort
		}
		next.Points, next.Size = uint64(points), int64(size)
		if points == 0 || int64(size) < r.plan.leastChunk() ||
			next.Points > r.count-next.First || next.Size > position-next.Offset {
			return nil, fmt.Errorf("its chunk %d can't have %d points in %d bytes", i, points, size)
		}
		list = append(list, next)
		next.First += next.Points
		next.Offset += next.Size
	}
	if next.First != r.count {
		return nil, fmt.Errorf("its chunks have %d points, the file has %d", next.First, r.count)
	}
	// Where chunks can be found without the table it is trusted only if they
	// fill the place before it.
	if next.Offset != position && (r.plan.layered || !variable) {
		return nil, fmt.Errorf("its chunks end at %d, and it begins at %d", next.Offset, position)
	}
	return list, nil
}

// appendTable appends the chunk table of a file to b.
func appendTable(b []byte, list []Extent, variable bool) []byte {
	b = binary.LittleEndian.AppendUint32(b, 0)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(list)))
	if len(list) == 0 {
		return b
	}
	var e arith.Encoder
	e.Start(b)
	c := arith.NewInteger(32, 2, false)
	c.Reset()
	var last Extent
	for _, x := range list {
		if variable {
			e.Integer(&c, int32(uint32(last.Points)), int32(uint32(x.Points)), 0)
		}
		e.Integer(&c, int32(uint32(last.Size)), int32(uint32(x.Size)), 1)
		last = x
	}
	return e.Done()
}
