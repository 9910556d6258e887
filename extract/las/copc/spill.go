package copc

import (
	"fmt"
	"os"
	"slices"
)

// A spill holds records, in memory as long as they are not too many, then in a
// temporary file.
type spill struct {
	size int // of a record
	most int // bytes in memory
	dir  string
	buf  []byte
	file *os.File
	// start and end are where in the file its records are.
	start, end int64
	borrowed   bool // the file is another spill's
}

// section returns the records from one place of the file to another, which must
// not be used once the spill is removed.
func (s *spill) section(from, to int64) *spill {
	return &spill{size: s.size, dir: s.dir, file: s.file, start: from, end: to, borrowed: true}
}

// window is how many bytes are read from a temporary file, or gathered for one,
// at a time.
const window = 1 << 20

func (s *spill) write(records []byte) error {
	s.buf = append(s.buf, records...)
	if s.file == nil && len(s.buf) <= s.most || s.file != nil && len(s.buf) < window {
		return nil
	}
	return s.flush()
}

// flush moves what is in memory to the file.
func (s *spill) flush() error {
	if s.file == nil {
		if err := s.create(); err != nil {
			return err
		}
	}
	_, err := s.file.WriteAt(s.buf, s.end)
	s.end += int64(len(s.buf))
	if s.buf = s.buf[:0]; cap(s.buf) > 2*window {
		s.buf = nil
	}
	return err
}

// create makes the temporary file.
func (s *spill) create() (err error) {
	s.file, err = os.CreateTemp(s.dir, "copc-*.points")
	return err
}

// remove removes the temporary file, if there is one.
func (s *spill) remove() {
	s.buf = nil
	if s.file != nil && !s.borrowed {
		// Nothing can be done for a file that doesn't go.
		_ = s.file.Close()
		_ = os.Remove(s.file.Name())
		s.file = nil
	}
}

// each calls use with all records in the file, run by run.
func (s *spill) each(use func(records []byte) error) error {
	if len(s.buf) > 0 {
		if err := s.flush(); err != nil {
			return err
		}
	}
	run := int64(window / s.size * s.size)
	var buf []byte
	for at := s.start; at < s.end; at += run {
		var err error
		if buf, err = s.read(buf, at, min(at+run, s.end)); err != nil {
			return err
		}
		if err := use(buf); err != nil {
			return err
		}
	}
	return nil
}

// read returns the bytes of the file from one place to another, in buf if it
// is large enough.
func (s *spill) read(buf []byte, from, to int64) ([]byte, error) {
	n := int(to - from)
	buf = slices.Grow(buf[:0], n)[:n]
	if _, err := s.file.ReadAt(buf, from); err != nil {
		return nil, fmt.Errorf("temporary file: %w", err)
	}
	return buf, nil
}

// A partition divides the tree below a node into parts that fit into memory,
// as far as its survey sees, and the nodes above them.
type partition struct {
	base   Key
	upper  []Key // in the order of keys, level by level
	parts  []Key // along the curve
	part   []int32
	starts []int64 // of each part's bytes in the file of parts, and the end
}

// surveyLevels is how many levels below a node the nodes are by which points
// are counted.
const surveyLevels = gridBits

// survey counts the points, all of them below base, and divides the tree there.
func (b *builder) survey(s *spill, base Key) (*partition, error) {
	counts := make([]int64, 1<<(3*surveyLevels)+1)
	err := s.each(func(records []byte) error {
		for ; len(records) > 0; records = records[b.size:] {
			counts[b.cube.spot(records).curve(base)+1]++
		}
		return b.ctx.Err()
	})
	if err != nil {
		return nil, err
	}
	for i := 1; i < len(counts); i++ {
		counts[i] += counts[i-1]
	}
	p := &partition{base: base, part: make([]int32, len(counts)-1), starts: []int64{0}}
	p.divide(base, counts, int64(b.memory), int64(b.size))
	slices.SortFunc(p.upper, Key.compare)
	return p, nil
}

// divide finds the parts below k, of whose nodes of the survey's level counts
// has the running sums of points.
func (p *partition) divide(k Key, counts []int64, memory, size int64) {
	first := counts[0]
	n := counts[len(counts)-1] - first
	switch {
	case n == 0:
	case n > memory && k.Level < p.base.Level+surveyLevels:
		p.upper = append(p.upper, k)
		width := (len(counts) - 1) / 8
		for octant := range 8 {
			p.divide(k.child(octant), counts[octant*width:(octant+1)*width+1], memory, size)
		}
	default:
		p.parts = append(p.parts, k)
		p.starts = append(p.starts, p.starts[len(p.starts)-1]+n*size)
	}
}

// curve returns the number of a spot's node of the survey below base along the
// Morton curve, on which the nodes below one node follow one another.
func (s spot) curve(base Key) int {
	n := 0
	for level := range int32(surveyLevels) {
		n = n<<3 | int(s.octant(base.Level+level))
	}
	return n
}

// curve returns the numbers along the curve of the nodes of the survey below
// base that are below k.
func (k Key) curve(base Key) (from, to int) {
	n := 0
	for level := base.Level; level < k.Level; level++ {
		up := k.up(level + 1)
		n = n<<3 | int(up.X&1|up.Y&1<<1|up.Z&1<<2)
	}
	below := 3 * (base.Level + surveyLevels - k.Level)
	return n << below, (n + 1) << below
}

// distribute brings the points in order of parts, into another file.
func (b *builder) distribute(s *spill, p *partition) (*spill, error) {
	for i, k := range p.parts {
		from, to := k.curve(p.base)
		for n := from; n < to; n++ {
			p.part[n] = int32(i)
		}
	}
	parts := &spill{size: s.size, dir: s.dir, end: s.end - s.start}
	if err := parts.create(); err != nil {
		return nil, err
	}
	const gathered = 1 << 16
	next := slices.Clone(p.starts)
	waiting := make([][]byte, len(p.parts))
	flush := func(i int32) error {
		_, err := parts.file.WriteAt(waiting[i], next[i])
		next[i] += int64(len(waiting[i]))
		waiting[i] = waiting[i][:0]
		return err
	}
	err := s.each(func(records []byte) error {
		for ; len(records) > 0; records = records[b.size:] {
			i := p.part[b.cube.spot(records).curve(p.base)]
			waiting[i] = append(waiting[i], records[:b.size]...)
			if len(waiting[i]) >= gathered {
				if err := flush(i); err != nil {
					return err
				}
			}
		}
		return b.ctx.Err()
	})
	for i := range waiting {
		if err == nil {
			err = flush(int32(i))
		}
	}
	if err != nil {
		parts.remove()
		return nil, err
	}
	s.remove()
	p.part = nil
	return parts, nil
}
