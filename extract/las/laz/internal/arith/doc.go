// Package arith is the entropy coder of LAZ: a byte-wise 32-bit range coder
// with carry, adaptive models of symbols and bits, and the integer coder that
// is built of them.
//
// The coder was described by A. Said, "Introduction to Arithmetic Coding —
// Theory and Practice", HP Laboratories report HPL-2004-76, 2004; constants and
// schedules are those that the LAZ format fixes. A Decoder reads
// exactly the bytes that an Encoder wrote. Nothing here may be used by two
// goroutines at once.
package arith

import "errors"

var (
	// ErrShort is returned where a chunk's bytes end before its points do.
	ErrShort = errors.New("the compressed bytes end too early")
	// ErrCorrupt is returned where bytes are none that an encoder writes.
	ErrCorrupt = errors.New("the compressed bytes are corrupt")
)

const (
	// minLength is the least length of the interval between operations.
	minLength = 1 << 24
	// maxLength is the length of the interval at the start.
	maxLength = 1<<32 - 1
	// symbolBits is the precision of the cumulative counts of symbols.
	symbolBits = 15
	// bitBits is the precision of the probability of a zero bit.
	bitBits = 13
	// rawBits is the most bits that are coded raw in one step.
	rawBits = 19
)
