package las

import "fmt"

// MaxFormat is the highest point data record format that LAS 1.4 defines.
const MaxFormat = 10

// absent marks a piece that a point format does not have.
const absent = -1

// A Layout says where the pieces of a point record stand: offsets in bytes
// from the record's start, -1 for a piece the format does not have. Extra
// bytes, if any, follow at Length.
type Layout struct {
	// Length is the least record length of the format.
	Length int
	// Extended is set for formats 6 to 10: 4-bit return numbers, 256 classes,
	// a scan angle in steps of 0.006 degrees.
	Extended bool
	// Source, Time, Colour, NIR and Wave are offsets.
	Source, Time, Colour, NIR, Wave int
}

// LayoutOf returns the layout of a point format, and false for a format
// above 10. Lengths: ASPRS LAS 1.4 R15, tables 7 to 17.
func LayoutOf(format uint8) (Layout, bool) {
	switch format {
	case 0:
		return Layout{20, false, 18, absent, absent, absent, absent}, true
	case 1:
		return Layout{28, false, 18, 20, absent, absent, absent}, true
	case 2:
		return Layout{26, false, 18, absent, 20, absent, absent}, true
	case 3:
		return Layout{34, false, 18, 20, 28, absent, absent}, true
	case 4:
		return Layout{57, false, 18, 20, absent, absent, 28}, true
	case 5:
		return Layout{63, false, 18, 20, 28, absent, 34}, true
	case 6:
		return Layout{30, true, 20, 22, absent, absent, absent}, true
	case 7:
		return Layout{36, true, 20, 22, 30, absent, absent}, true
	case 8:
		return Layout{38, true, 20, 22, 30, 36, absent}, true
	case 9:
		return Layout{59, true, 20, 22, absent, absent, 30}, true
	case 10:
		return Layout{67, true, 20, 22, 30, 36, 38}, true
	}
	return Layout{}, false
}

// maxReturn is the highest return number the format can hold.
func (l Layout) maxReturn() uint8 {
	if l.Extended {
		return 15
	}
	return 7
}

// formatsOf returns the highest point format a version of LAS knows.
func formatsOf(minor uint8) uint8 {
	switch minor {
	case 0, 1:
		return 1
	case 2:
		return 3
	case 3:
		return 5
	}
	return MaxFormat
}

// headerSizeOf returns the header length of a version of LAS in bytes.
func headerSizeOf(minor uint8) int {
	switch minor {
	case 0, 1, 2:
		return 227
	case 3:
		return 235
	case 4:
		return 375
	}
	return 393
}

// A FormatError says what is wrong with a file and what mends it.
type FormatError struct {
	Path string
	What string
	Mend string
}

// Error returns one line: the file, what is wrong, and the mend.
func (e *FormatError) Error() string {
	if e.Mend == "" {
		return fmt.Sprintf("las: %s: %s", e.Path, e.What)
	}
	return fmt.Sprintf("las: %s: %s; %s", e.Path, e.What, e.Mend)
}
