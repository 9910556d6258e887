package las

import (
	"context"
	"io"
)

// packed is how a compressed file's points are read.
type packed struct{}

// unpack looks for compression.
func (p *parser) unpack() (*packed, error) {
	if !p.packed {
		return nil, nil
	}
	return nil, p.bad("write it as LAS", "the points are compressed (LAZ), which is not read yet")
}

func (f *File) unpacked(context.Context, io.ReaderAt, func([]byte, error) bool) {}
