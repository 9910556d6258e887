package layered

import "quoin/extract/las/laz/internal/arith"

// blockSize is how many points a layer codes before the next one has its turn:
// few enough that their records and steps stay in the nearest cache.
const blockSize = 256

// channels is the number of scanner channels. Each has its own models and
// predictions, its context.
const channels = 4

// A block is a run of points that layers code in turn.
type block struct {
	records []byte
	size    int // of a record
	steps   []step
}

// A layer codes one field of all points.
type layer interface {
	// reset begins a chunk with its first record.
	reset(first []byte)
	// decode decodes the field of the block's points, and returns of how many
	// before the stream went bad.
	decode(d *arith.Decoder, b *block) int
	// encode encodes the field of the block's points.
	encode(e *arith.Encoder, b *block)
	// silent reports whether a chunk can do without the layer, for its field
	// is the first record's in all records.
	silent(records []byte, size int) bool
}

// A step is what all layers need to know of a point.
type step uint32

const (
	stepLevel   = 0  // 3 bits: how far the return is from the last one
	stepSingle  = 3  // 1 bit: the only return
	stepRole    = 4  // 2 bits: 2 for a first return, 1 for a last one
	stepTime    = 6  // 1 bit: the time has changed
	stepAngle   = 7  // 1 bit: the scan angle has changed
	stepSource  = 8  // 1 bit: the point source has changed
	stepMoved   = 9  // 1 bit: the channel has changed
	stepChannel = 10 // 2 bits
	stepK       = 12 // 6 bits: half the classes of the differences in x and y
)

func (s step) level() uint32   { return uint32(s>>stepLevel) & 7 }
func (s step) single() uint32  { return uint32(s>>stepSingle) & 1 }
func (s step) role() uint32    { return uint32(s>>stepRole) & 3 }
func (s step) time() uint32    { return uint32(s>>stepTime) & 1 }
func (s step) angle() bool     { return s>>stepAngle&1 != 0 }
func (s step) source() bool    { return s>>stepSource&1 != 0 }
func (s step) channel() uint32 { return uint32(s>>stepChannel) & 3 }
func (s step) k() uint32       { return uint32(s>>stepK) & 63 }

// context returns the context number that version 3 and 4 give a point for all
// parts but the core: in version 4 its channel, in version 3 only where the
// channel has just changed, else 0. It was a mistake once; now it's the format.
func (s step) context(version int) uint32 {
	if version < 4 && s>>stepMoved&1 == 0 {
		return 0
	}
	return s.channel()
}

// contexts are what a layer of the core keeps for each channel.
type contexts[T any] struct {
	all  [channels]*T
	used [channels]bool
	cur  uint32
	make func() *T
}

func newContexts[T any](fresh func() *T) contexts[T] { return contexts[T]{make: fresh} }

// reset leaves only the context of the first record's channel, which the
// caller must make ready.
func (c *contexts[T]) reset(first []byte) *T {
	c.used = [channels]bool{}
	c.cur = uint32(first[atFlags]>>4) & 3
	return c.take(c.cur)
}

func (c *contexts[T]) take(ch uint32) *T {
	c.used[ch] = true
	if c.all[ch] == nil {
		c.all[ch] = c.make()
	}
	return c.all[ch]
}

// now returns the context in use.
func (c *contexts[T]) now() *T { return c.all[c.cur] }

// enter changes to a channel. It returns its context, and if that must be made
// ready the one before, from whose latest values it begins; else nil.
func (c *contexts[T]) enter(ch uint32) (now, seed *T) {
	was := c.all[c.cur]
	fresh := !c.used[ch]
	c.cur = ch
	if fresh {
		return c.take(ch), was
	}
	return c.all[ch], nil
}

// turns finds the context of parts other than the core.
type turns struct {
	cur     uint32
	used    [channels]bool
	version int
}

func (t *turns) reset(first []byte) uint32 {
	t.used = [channels]bool{}
	t.cur = uint32(first[atFlags]>>4) & 3
	t.used[t.cur] = true
	return t.cur
}

// enter changes to a context other than the current one. It returns the number
// of the one whose latest value counts for this point, and whether the new
// context's models and value must be made ready.
func (t *turns) enter(arg uint32) (value uint32, fresh bool) {
	was := t.cur
	t.cur = arg
	if !t.used[arg] {
		t.used[arg] = true
		return arg, true
	}
	if t.version < 4 {
		return was, false
	}
	return arg, false
}

// alike reports whether records have n equal bytes at the given place.
func alike(records []byte, size, at, n int) bool {
	for rest := records[size:]; len(rest) >= size; rest = rest[size:] {
		for i := at; i < at+n; i++ {
			if rest[i] != records[i] {
				return false
			}
		}
	}
	return true
}
