package control

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"
)

const (
	// maxLine is the length of the longest line that is read, in bytes.
	maxLine = 1 << 16
	// maxPoints is far above any survey and far below any memory.
	maxPoints = 1 << 20
)

// ReadFile returns the points of a control file. See Read.
func ReadFile(path string, block orb.Bound) ([]Point, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("control: %w", err)
	}
	defer f.Close()
	points, err := read(f, block)
	if err != nil {
		return nil, fmt.Errorf("control: read %s: %w", path, err)
	}
	return points, nil
}

// Read returns the points of a control file in text: one point a line, with
// columns for its name, northing, easting, elevation and description,
// separated by tabs, semicolons or commas.
//
// A first line that names the columns may give them in any order; docs/control.md
// has the names that are understood. Without one, the order is point, northing,
// easting, elevation, description, or the same with easting first: whichever
// puts points inside the block. If both do or neither does, Read returns an
// error that asks for a first line. Elevation and description may be missing.
// Where columns are not separated by commas, a number may have a decimal comma.
// Empty lines and lines that begin with # or // are passed over, as is a
// byte-order mark.
//
// block is the bound of the data; it is widened by a tenth on each side. Errors
// name the line. Names that occur twice are an error, as nobody could tell
// later which point a difference belongs to.
func Read(r io.Reader, block orb.Bound) ([]Point, error) {
	points, err := read(r, block)
	if err != nil {
		return nil, fmt.Errorf("control: %w", err)
	}
	return points, nil
}

// line is one record of the file.
type line struct {
	number int
	text   string
}

func read(r io.Reader, block orb.Bound) ([]Point, error) {
	lines, err := records(r)
	if err != nil {
		return nil, err
	}
	if len(lines) == 0 {
		return nil, errors.New("no points: the file is empty but for comments")
	}
	l, err := layoutOf(lines[0])
	if err != nil {
		return nil, err
	}
	if l.header {
		lines = lines[1:]
		if len(lines) == 0 {
			return nil, errors.New("no points: only the line that names the columns")
		}
	}
	points := make([]Point, 0, len(lines))
	seen := make(map[string]int, len(lines))
	for _, ln := range lines {
		p, err := l.point(ln)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", ln.number, err)
		}
		if earlier, twice := seen[p.ID]; twice {
			return nil, fmt.Errorf("line %d: point %q is already on line %d: give each point a name of its own", ln.number, p.ID, earlier)
		}
		seen[p.ID] = ln.number
		points = append(points, p)
	}
	return l.settleOrder(points, block)
}

// records returns the lines that hold something.
func records(r io.Reader) ([]line, error) {
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 0, 4096), maxLine)
	var lines []line
	number := 0
	for in.Scan() {
		b := in.Bytes()
		if number++; number == 1 {
			if bytes.HasPrefix(b, []byte{0xFF, 0xFE}) || bytes.HasPrefix(b, []byte{0xFE, 0xFF}) {
				return nil, errors.New("the file is in UTF-16: save it as UTF-8")
			}
			b = bytes.TrimPrefix(b, []byte{0xEF, 0xBB, 0xBF})
		}
		if bytes.IndexByte(b, 0) >= 0 {
			return nil, fmt.Errorf("line %d: not a text file", number)
		}
		text := strings.Trim(decoded(b), " \r\v\f")
		if strings.Trim(text, "\t") == "" || strings.HasPrefix(text, "#") || strings.HasPrefix(text, "//") {
			continue
		}
		if len(lines) == maxPoints {
			return nil, fmt.Errorf("line %d: more than %d points", number, maxPoints)
		}
		lines = append(lines, line{number, text})
	}
	if errors.Is(in.Err(), bufio.ErrTooLong) {
		return nil, fmt.Errorf("line %d: longer than %d bytes: not a list of points", number+1, maxLine)
	}
	return lines, in.Err()
}

// decoded returns the bytes as UTF-8. Bytes that are not are taken for ISO
// 8859-1, in which every byte is a character.
func decoded(b []byte) string {
	if utf8.Valid(b) {
		return string(b)
	}
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}

// settleOrder returns the points with east and north told apart. Without a
// header they were read with the northing first.
func (l layout) settleOrder(points []Point, block orb.Bound) ([]Point, error) {
	margin := math.Max(block.Right()-block.Left(), block.Top()-block.Bottom()) / 10
	wide := block.Pad(margin)
	asRead, swapped := 0, 0
	for _, p := range points {
		if wide.Contains(p.XY()) {
			asRead++
		}
		if wide.Contains(orb.Point{p.North, p.East}) {
			swapped++
		}
	}
	switch {
	case l.header && asRead == 0 && swapped > 0:
		return nil, errors.New("northing and easting are named the wrong way round: only swapped do the points lie in the block")
	case l.header || asRead > 0 && swapped == 0:
		return points, nil
	case swapped > 0 && asRead == 0:
		for i, p := range points {
			points[i].East, points[i].North = p.North, p.East
		}
		return points, nil
	case asRead > 0:
		return nil, errors.New("both orders, northing or easting first, put points in the block: name the columns in a first line, as point,northing,easting,elevation,description")
	}
	return nil, &OutsideError{points, block}
}

// An OutsideError says that no point of a file without a header lies in the
// block, whichever of northing and easting comes first. Points are as they were
// read with the northing first.
type OutsideError struct {
	Points []Point
	Block  orb.Bound
}

func (e *OutsideError) Error() string {
	p, b := e.Points[0], e.Block
	return fmt.Sprintf("no point lies in the block, whichever of northing and easting comes first (line %d has %v, %v; the block is east %.1f to %.1f, north %.1f to %.1f): check the CRS and unit of the points, or name the columns in a first line",
		p.Line, p.North, p.East, b.Left(), b.Right(), b.Bottom(), b.Top())
}
