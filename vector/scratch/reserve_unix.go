//go:build unix && !linux

package scratch

import "os"

// reserve sets the space of a file aside.
func reserve(f *os.File, size int64) error { return fill(f, size) }
