// Package scratch keeps arrays that grow with the input on disk: in files that
// are mapped into memory, so that the system holds as much of them as there is
// room for and writes the rest out. To who uses them they are slices.
//
// The files lose their names as soon as they are made: whatever ends the
// process, a kill included, leaves nothing behind.
package scratch

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"sync"
	"unsafe"
)

// arenaSize is the number of bytes that small arrays share a file of.
const arenaSize = 64 << 20

// alignment is what small arrays begin on: that of any type without pointers.
const alignment = 16

// ErrUnsupported is returned on systems that can't map files.
var ErrUnsupported = errors.New("arrays can't be kept on disk on this system")

// A Store is a set of arrays on disk. The nil Store keeps them in memory, as
// make does. It may be used by several goroutines at once.
type Store struct {
	folder string
	mu     sync.Mutex
	maps   [][]byte
	arena  []byte // what is left of the last file for small arrays
	bytes  int64
	err    error
	parent *Store
	// branches are those not closed.
	branches map[*Store]bool
}

// Open returns a store whose files are made in a folder, which must exist by
// the time of the first array.
func Open(folder string) *Store { return &Store{folder: folder} }

// Branch returns another store in the same folder, for arrays that are done
// with sooner; nil for nil. What Trim, Err and Bytes say of the store holds of its
// branches, too, until they are closed.
func (s *Store) Branch() *Store {
	if s == nil {
		return nil
	}
	branch := &Store{folder: s.folder, parent: s}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.branches == nil {
		s.branches = make(map[*Store]bool)
	}
	s.branches[branch] = true
	return branch
}

// Array returns n zero values in a file of their own. T must hold no pointers:
// the collector does not look into files. It fails where the disk is full or
// can't be written to, and on more bytes than can be addressed; the space is
// set aside at once, so that nothing fails later.
func Array[T any](s *Store, n int) ([]T, error) {
	if s == nil {
		return make([]T, n), nil
	}
	if n == 0 {
		return nil, nil
	}
	var zero T
	size := unsafe.Sizeof(zero)
	if uint64(n) > math.MaxInt/uint64(max(size, 1)) {
		return nil, fmt.Errorf("scratch: %d values of %d bytes: more than can be addressed", n, size)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	mapped, err := s.mapFile(n * int(size))
	if err != nil {
		return nil, err
	}
	return unsafe.Slice((*T)(unsafe.Pointer(unsafe.SliceData(mapped))), n), nil
}

// Make returns n zero values, for arrays too small for a file each. Where the
// disk fails it takes memory, and Err tells. T must hold no pointers.
func Make[T any](s *Store, n int) []T {
	if s == nil || n == 0 {
		return make([]T, n)
	}
	var zero T
	size := int(unsafe.Sizeof(zero))
	if n > arenaSize/4/max(size, 1) {
		large, err := Array[T](s, n)
		if err != nil {
			s.fail(err)
			return make([]T, n)
		}
		return large
	}
	part := s.cut(n * size)
	if part == nil {
		return make([]T, n)
	}
	return unsafe.Slice((*T)(unsafe.Pointer(unsafe.SliceData(part))), n)
}

// Copy returns a copy of a slice as Make makes them; for the nil Store the slice
// itself.
func Copy[T any](s *Store, of []T) []T {
	if s == nil {
		return of
	}
	out := Make[T](s, len(of))
	copy(out, of)
	return out
}

// cut takes bytes from the arena; nil where the disk fails.
func (s *Store) cut(size int) []byte {
	size = (size + alignment - 1) / alignment * alignment
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.arena) < size {
		next, err := s.mapFile(arenaSize)
		if err != nil {
			if s.err == nil {
				s.err = err
			}
			return nil
		}
		s.arena = next
	}
	part := s.arena[:size:size]
	s.arena = s.arena[size:]
	return part
}

func (s *Store) fail(err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.err == nil {
		s.err = err
	}
}

// Err returns the first error of Make; nil for the nil Store.
func (s *Store) Err() error {
	if s == nil {
		return nil
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	err := s.err
	for branch := range s.branches {
		err = cmp.Or(err, branch.Err())
	}
	return err
}

// Bytes returns how much of the disk is taken; 0 for the nil Store.
func (s *Store) Bytes() int64 {
	if s == nil {
		return 0
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	bytes := s.bytes
	for branch := range s.branches {
		bytes += branch.Bytes()
	}
	return bytes
}

// Trim lets go of the memory that the arrays are seen through. Their values
// stay, and come back when they are looked at; others may do so meanwhile.
func (s *Store) Trim() {
	if s == nil {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, m := range s.maps {
		letGo(m)
	}
	for branch := range s.branches {
		branch.Trim()
	}
}

// Close gives the disk back. The arrays must not be used any more; branches are
// closed by themselves.
func (s *Store) Close() error {
	if s == nil {
		return nil
	}
	if s.parent != nil {
		s.parent.mu.Lock()
		delete(s.parent.branches, s)
		s.parent.mu.Unlock()
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var errs []error
	for _, m := range s.maps {
		errs = append(errs, unmap(m))
	}
	s.maps, s.arena, s.bytes = nil, nil, 0
	return errors.Join(errs...)
}
