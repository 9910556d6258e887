//go:build unix

package scratch

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// mapFile makes a file without a name, sets its space aside and maps it.
func (s *Store) mapFile(size int) (mapped []byte, err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("scratch: %d MiB in %s: %w", (size+1<<20-1)>>20, s.folder, err)
		}
	}()
	f, err := os.CreateTemp(s.folder, ".scratch-*")
	if err != nil {
		return nil, reason(err)
	}
	defer f.Close()
	if err := os.Remove(f.Name()); err != nil {
		return nil, reason(err)
	}
	if err := reserve(f, int64(size)); err != nil {
		return nil, reason(err)
	}
	mapped, err = unix.Mmap(int(f.Fd()), 0, size, unix.PROT_READ|unix.PROT_WRITE, unix.MAP_SHARED)
	if err != nil {
		return nil, err
	}
	s.maps = append(s.maps, mapped)
	s.bytes += int64(size)
	return mapped, nil
}

// reason leaves out the name of the file, which says nothing.
func reason(err error) error {
	if path := (*os.PathError)(nil); errors.As(err, &path) {
		return path.Err
	}
	return err
}

// fill writes zeros, where the file system can't set space aside otherwise: a
// file with holes would fail when the disk is full, by a signal.
func fill(f *os.File, size int64) error {
	zeros := make([]byte, 1<<20)
	for at := int64(0); at < size; at += int64(len(zeros)) {
		if _, err := f.WriteAt(zeros[:min(int64(len(zeros)), size-at)], at); err != nil {
			return err
		}
	}
	return nil
}

// letGo is only advice: that it fails changes nothing.
func letGo(m []byte) { _ = unix.Madvise(m, unix.MADV_DONTNEED) }

func unmap(m []byte) error { return unix.Munmap(m) }
