package scratch

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// reserve sets the space of a file aside.
func reserve(f *os.File, size int64) error {
	for {
		err := unix.Fallocate(int(f.Fd()), 0, 0, size)
		switch {
		case errors.Is(err, unix.EINTR):
		case errors.Is(err, unix.EOPNOTSUPP):
			return fill(f, size)
		default:
			return err
		}
	}
}
