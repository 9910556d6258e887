package control

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// column is what a column of the file holds.
type column int

const (
	columnPoint column = iota
	columnNorth
	columnEast
	columnElevation
	columnDescription
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
	}
	return 0, false
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
			return layout{separator: separator, at: [columns]int{0, 1, 2, 3, 4}}, nil
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
	_, errN := number(fields[1], separator)
	_, errE := number(fields[2], separator)
	return errN == nil && errE == nil
}

// named returns the layout that a line of column names gives; false for a line
// that names neither a northing nor an easting.
func named(fields []string, separator rune) (layout, bool) {
	l := layout{separator: separator, header: true, at: [columns]int{-1, -1, -1, -1, -1}}
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
	field := func(c column) string {
		if i := l.at[c]; i >= 0 && i < len(fields) {
			return fields[i]
		}
		return ""
	}
	p := Point{ID: field(columnPoint), Elevation: math.NaN(), Description: field(columnDescription), Line: ln.number}
	if l.at[columnPoint] < 0 {
		p.ID = "line " + strconv.Itoa(ln.number)
	}
	if p.ID == "" {
		return Point{}, errors.New("the point has no name")
	}
	if !l.header && len(fields) > int(columns) {
		// Commas in an unquoted description: it is the last column.
		p.Description = strings.Join(fields[columnDescription:], string(l.separator))
	}
	if p.North, err = number(field(columnNorth), l.separator); err != nil {
		return Point{}, fmt.Errorf("point %q: northing %w", p.ID, err)
	}
	if p.East, err = number(field(columnEast), l.separator); err != nil {
		return Point{}, fmt.Errorf("point %q: easting %w", p.ID, err)
	}
	if z := field(columnElevation); z != "" {
		if p.Elevation, err = number(z, l.separator); err != nil {
			return Point{}, fmt.Errorf("point %q: elevation %w", p.ID, err)
		}
	}
	return p, nil
}

// split cuts a line at the separator. A field may stand in double quotes, with
// a quote in it doubled (RFC 4180), but not go on in the next line; a quote
// inside an unquoted field, as in 6" gutter, stands for itself.
func split(text string, separator rune) ([]string, error) {
	var fields []string
	for {
		text = strings.TrimLeft(text, " ")
		if !strings.HasPrefix(text, `"`) {
			field, rest, more := strings.Cut(text, string(separator))
			fields = append(fields, strings.TrimSpace(field))
			if !more {
				return fields, nil
			}
			text = rest
			continue
		}
		field, rest, ok := quoted(text[1:])
		rest = strings.TrimLeft(rest, " ")
		if !ok || rest != "" && !strings.HasPrefix(rest, string(separator)) {
			return nil, errors.New("a quoted field does not end before its separator")
		}
		fields = append(fields, strings.TrimSpace(field))
		if rest == "" {
			return fields, nil
		}
		text = rest[len(string(separator)):]
	}
}

// quoted returns what stands before the closing quote, and what after it.
func quoted(text string) (field, rest string, ok bool) {
	var b strings.Builder
	for {
		before, after, found := strings.Cut(text, `"`)
		b.WriteString(before)
		if !found {
			return "", "", false
		}
		if !strings.HasPrefix(after, `"`) {
			return b.String(), after, true
		}
		b.WriteByte('"')
		text = after[1:]
	}
}

// number reads a decimal number. What strconv takes beyond that, as hexadecimal
// digits and infinity, is in no survey.
func number(s string, separator rune) (float64, error) {
	if s == "" {
		return 0, errors.New("is missing")
	}
	plain := s
	if separator != ',' && strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		plain = strings.Replace(s, ",", ".", 1)
	}
	if strings.Trim(plain, "0123456789+-.eE") != "" {
		return 0, fmt.Errorf("%q is not a number", clipped(s))
	}
	v, err := strconv.ParseFloat(plain, 64)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number", clipped(s))
	}
	return v, nil
}

// clipped keeps a message to one short line whatever the file holds.
func clipped(s string) string {
	const most = 60
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return string(runes[:most]) + "…"
}
