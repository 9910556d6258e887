// Package atomicfile finishes files whole or not at all: they are written
// under a temporary name in their own folder and renamed when complete.
package atomicfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// attempts bounds the search for a free temporary name. Names hold 64 random
// bits, so that a second attempt is already unlikely.
const attempts = 16

// Write creates the file at path with what write puts out, buffered, and
// replaces a file that is already there. On any error the temporary file is
// removed and what was at path stays as it was.
func Write(path string, write func(w io.Writer) error) error {
	return WritePath(path, func(temporary string) error {
		f, err := os.OpenFile(temporary, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		w := bufio.NewWriterSize(f, 1<<16)
		err = write(w)
		if err == nil {
			err = w.Flush()
		}
		return errors.Join(err, f.Close())
	})
}

// WritePath is Write for formats whose library opens the file itself: fill is
// given the path of an empty temporary file to fill.
func WritePath(path string, fill func(temporary string) error) error {
	temporary, err := create(path)
	if err != nil {
		return err
	}
	err = fill(temporary)
	if err == nil {
		err = sync(temporary)
	}
	if err == nil {
		err = os.Rename(temporary, path)
	}
	if err != nil {
		os.Remove(temporary)
	}
	return err
}

// create makes the temporary file beside path. It is not os.CreateTemp, which
// would leave the finished file readable by its owner only.
func create(path string) (string, error) {
	folder, name := filepath.Split(path)
	var err error
	for range attempts {
		temporary := filepath.Join(folder, fmt.Sprintf(".%s.%016x.part", name, rand.Uint64()))
		var f *os.File
		f, err = os.OpenFile(temporary, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
		if err == nil {
			return temporary, f.Close()
		}
		if !errors.Is(err, fs.ErrExist) {
			break
		}
	}
	// The reader knows the name that was asked for, not ours.
	var pathErr *fs.PathError
	if errors.As(err, &pathErr) {
		return "", &fs.PathError{Op: "create", Path: path, Err: pathErr.Err}
	}
	return "", err
}

// sync puts the content on the disk before the name points to it, so that a
// power cut cannot leave a finished name on an empty file.
func sync(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
