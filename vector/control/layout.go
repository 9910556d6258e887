package control

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"quoin/vector"
)

// column is what a column of the file holds.
type column int

const (
	columnPoint column = iota
	columnNorth
	columnEast
	columnElevation
	columnDescription
	// ordinary is the number of columns that a file without a header has.
	ordinary
)

const (
	columnRole column = ordinary + iota
	columnGeoreferencing
	columnSigmaH
	columnSigmaE
	columnSigmaN
	columnSigmaU
	columns
)

// spelling returns the column that a name in a first line stands for. Names
// are compared without case, blanks, punctuation and units in brackets.
func spelling(name string) (column, bool) {
	name, _, _ = strings.Cut(strings.ToLower(name), "(")
	name, _, _ = strings.Cut(name, "[")
	name = strings.Map(func(r rune) rune {
		if strings.ContainsRune(" \t_-.:#\"'", r) {
			return -1
		}
		return r
	}, name)
	switch name {
	case "point", "pointid", "pointno", "pointnumber", "pointname", "pt", "ptid", "ptno", "pnt", "id", "name", "no", "number", "p", "controlid", "label", "station":
		return columnPoint, true
	case "northing", "north", "n", "y", "northings", "ynorth", "ynorthing":
		return columnNorth, true
	case "easting", "east", "e", "x", "eastings", "xeast", "xeasting":
		return columnEast, true
	case "elevation", "elev", "el", "z", "height", "h", "u", "up", "rl", "level":
		return columnElevation, true
	case "description", "desc", "d", "code", "note", "notes", "remark", "remarks", "comment", "feature", "featurecode":
		return columnDescription, true
	case "role":
		return columnRole, true
	case "georeferencing", "usedingeoreferencing":
		return columnGeoreferencing, true
	}
	return sigmaSpelling(name)
}

// sigmaSpelling is spelling for the columns of standard errors.
func sigmaSpelling(name string) (column, bool) {
	switch name {
	case "sigma", "sigmah", "sdh", "sh", "hsd", "horizontalsigma":
		return columnSigmaH, true
	case "sigmae", "sde", "se", "stde", "sigmax", "sdx":
		return columnSigmaE, true
	case "sigman", "sdn", "sn", "stdn", "sigmay", "sdy":
		return columnSigmaN, true
	case "sigmau", "sdu", "su", "stdu", "sigmaz", "sdz", "sigmav", "sdv", "vsd", "verticalsigma":
		return columnSigmaU, true
	}
	return 0, false
}

// ordinaryLayout is that of a file without a header.
func ordinaryLayout(separator rune) layout {
	l := unnamed(separator)
	for c := range ordinary {
		l.at[c] = int(c)
	}
	return l
}

// unnamed is a layout without columns.
func unnamed(separator rune) layout {
	l := layout{separator: separator}
	for c := range l.at {
		l.at[c] = -1
	}
	return l
}

// layout is how the lines of one file are to be read.
type layout struct {
	separator rune
	header    bool
	// at is the field of each column, −1 where the file has none.
	at [columns]int
}

// layoutOf finds the separator and the columns from the first line. Where more
// than one separator would do, tabs come before semicolons and those before
// commas, which may be decimal commas.
func layoutOf(first line) (layout, error) {
	for _, separator := range []rune{'\t', ';', ','} {
		fields, err := split(first.text, separator)
		if err != nil || len(fields) < 2 {
			continue
		}
		// Numbers first: a point may be called N or E, as a column is.
		if isPoint(fields, separator) {
			return ordinaryLayout(separator), nil
		}
		if l, ok := named(fields, separator); ok {
			return l, l.complete(first.number)
		}
	}
	return layout{}, fmt.Errorf("line %d: %q is neither a point (point,northing,easting,elevation,description) nor names of columns", first.number, clipped(first.text))
}

// isPoint reports whether the second and third field are numbers.
func isPoint(fields []string, separator rune) bool {
	if len(fields) < 3 {
		return false
	}
	_, errN := decimal(fields[1], separator)
	_, errE := decimal(fields[2], separator)
	return errN == nil && errE == nil
}

// named returns the layout that a line of column names gives; false for a line
// that names neither a northing nor an easting.
func named(fields []string, separator rune) (layout, bool) {
	l := unnamed(separator)
	l.header = true
	for i, f := range fields {
		if c, ok := spelling(f); ok && l.at[c] < 0 {
			l.at[c] = i
		}
	}
	return l, l.at[columnNorth] >= 0 || l.at[columnEast] >= 0
}

func (l layout) complete(line int) error {
	switch {
	case l.at[columnNorth] < 0:
		return fmt.Errorf("line %d: no column is named northing", line)
	case l.at[columnEast] < 0:
		return fmt.Errorf("line %d: no column is named easting", line)
	}
	return nil
}

// point reads one line. A point without a name column is named by its line.
func (l layout) point(ln line) (Point, error) {
	fields, err := split(ln.text, l.separator)
	if err != nil {
		return Point{}, err
	}
	return l.pointOf(fields, ln.number)
}

// pointOf makes a point of the fields of a line.
func (l layout) pointOf(fields []string, number int) (Point, error) {
	field := func(c column) string {
		if i := l.at[c]; i >= 0 && i < len(fields) {
			return fields[i]
		}
		return ""
	}
	p := Point{ID: field(columnPoint), Elevation: math.NaN(), Description: field(columnDescription), Line: number}
	if l.at[columnPoint] < 0 {
		p.ID = "line " + strconv.Itoa(number)
	}
	if p.ID == "" {
		return Point{}, errors.New("the point has no name")
	}
	if !l.header && len(fields) > int(ordinary) {
		// Commas in an unquoted description: it is the last column.
		p.Description = strings.Join(fields[columnDescription:], string(l.separator))
	}
	var err error
	if p.North, err = decimal(field(columnNorth), l.separator); err != nil {
		return Point{}, fmt.Errorf("point %q: northing %w", p.ID, err)
	}
	if p.East, err = decimal(field(columnEast), l.separator); err != nil {
		return Point{}, fmt.Errorf("point %q: easting %w", p.ID, err)
	}
	if z := field(columnElevation); z != "" {
		if p.Elevation, err = decimal(z, l.separator); err != nil {
			return Point{}, fmt.Errorf("point %q: elevation %w", p.ID, err)
		}
	}
	if p.Role, err = role(field(columnRole), field(columnGeoreferencing)); err != nil {
		return Point{}, fmt.Errorf("point %q: %w", p.ID, err)
	}
	if p.Sigma, err = l.sigmas(field); err != nil {
		return Point{}, fmt.Errorf("point %q: %w", p.ID, err)
	}
	return p, nil
}

// role returns the role that two fields name.
func role(name, georeferencing string) (vector.Role, error) {
	switch strings.ToLower(georeferencing) {
	case "", "0", "no", "n", "false":
	case "1", "yes", "y", "true":
		return vector.RoleGeoreferencing, nil
	default:
		return "", fmt.Errorf("used in georeferencing is %q: write yes or no", clipped(georeferencing))
	}
	switch r := vector.Role(strings.ToLower(name)); r {
	case "", vector.RoleCheck, vector.RoleControl, vector.RoleGeoreferencing:
		return r, nil
	}
	return "", fmt.Errorf("role %q is not known: write check, control or georeferencing", clipped(name))
}

// sigmas returns the standard errors of a point. One of the position counts
// for each of its axes, as far as they have none of their own.
func (l layout) sigmas(field func(column) string) (s [3]float64, err error) {
	for _, c := range []struct {
		column
		axes []int
		name string
	}{
		{columnSigmaH, []int{0, 1}, "horizontal"},
		{columnSigmaE, []int{0}, "east"},
		{columnSigmaN, []int{1}, "north"},
		{columnSigmaU, []int{2}, "up"},
	} {
		text := field(c.column)
		if text == "" {
			continue
		}
		v, err := decimal(text, l.separator)
		if err != nil {
			return s, fmt.Errorf("standard error %s: %w", c.name, err)
		}
		if v < 0 {
			return s, fmt.Errorf("standard error %s is %v, below zero", c.name, v)
		}
		for _, axis := range c.axes {
			s[axis] = v
		}
	}
	return s, nil
}

// FromTable returns the points of a table whose columns have names, as Read
// understands them; what other names hold is passed over. Rows count as lines
// from 1. Names that occur twice, and values that are no numbers, are errors.
func FromTable(names []string, rows [][]string) ([]Point, error) {
	l, _ := named(names, ';')
	if err := l.complete(0); err != nil {
		return nil, fmt.Errorf("control: %w", err)
	}
	points := make([]Point, 0, len(rows))
	seen := make(map[string]int, len(rows))
	for i, row := range rows {
		p, err := l.pointOf(row, i+1)
		if err != nil {
			return nil, fmt.Errorf("control: feature %d: %w", i+1, err)
		}
		if earlier, twice := seen[p.ID]; twice {
			return nil, fmt.Errorf("control: feature %d: point %q is already feature %d: give each point a name of its own", i+1, p.ID, earlier)
		}
		seen[p.ID] = i + 1
		points = append(points, p)
	}
	return points, nil
}
