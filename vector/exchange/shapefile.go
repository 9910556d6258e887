package exchange

import (
	"bytes"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"quoin/vector/atomicfile"
	"quoin/vector/layer"
)

// Limits of dBase tables, in bytes.
const (
	maxName = 10
	maxText = 254
)

// FieldsFile is the list that says which column each field of a Shapefile is.
const FieldsFile = "fields.csv"

// Shapefile writes a Shapefile for each layer into a folder that exists, a bare
// table for one without geometries, and the list of fields. definition is the
// CRS as well-known text. It returns what the format can't hold: names are cut to
// ten characters, columns with texts of more than 254 bytes are left out, and
// an empty text can't be told from an unknown one.
//
// Numbers keep 15 decimals, positions all their digits. The exterior of polygons
// runs clockwise, as the format has it.
func Shapefile(ctx context.Context, folder string, s layer.Set, definition string) ([]string, error) {
	var notes []string
	fields := [][]string{{"file", "field", "column", "unit"}}
	renamed := 0
	s.Tables = slices.Clone(s.Tables)
	for i, t := range s.Tables {
		t, dropped := withoutLongTexts(t)
		for _, name := range dropped {
			notes = append(notes, fmt.Sprintf("Shapefile: column %s of %s is left out: it holds texts of more than %d bytes", name, t.Layer.Name, maxText))
		}
		names := Names(t.Layer.Columns)
		t.Layer.Columns = slices.Clone(t.Layer.Columns)
		for k, name := range names {
			fields = append(fields, []string{t.Layer.Name, name, t.Layer.Columns[k].Name, t.Layer.Columns[k].Quantity.Unit(s.CRS)})
			if name != t.Layer.Columns[k].Name {
				renamed++
			}
			t.Layer.Columns[k].Name = name
		}
		s.Tables[i] = t
	}
	if renamed > 0 {
		notes = append(notes, fmt.Sprintf("Shapefile: %d field names are cut to %d characters: %s has the names in full", renamed, maxName, FieldsFile))
	}
	notes = append(notes, "Shapefile: an empty text can't be told from an unknown one")
	date := s.Time
	if date.IsZero() {
		date = time.Unix(0, 0)
	}
	err := translate(ctx, folder, s, definition, func(t layer.Table) (string, []string) {
		args := []string{"-f", "ESRI Shapefile", "-lco", "ENCODING=UTF-8", "-lco", "DBF_DATE_LAST_UPDATE=" + date.UTC().Format(time.DateOnly)}
		if t.Layer.Geometry == layer.None {
			return t.Layer.Name + ".dbf", args
		}
		return t.Layer.Name + ".shp", args
	})
	if err != nil {
		return nil, fmt.Errorf("exchange: Shapefile: %w", err)
	}
	return notes, writeFields(filepath.Join(folder, FieldsFile), fields)
}

func writeFields(path string, fields [][]string) error {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll(fields); err != nil {
		return fmt.Errorf("exchange: %s: %w", path, err)
	}
	return atomicfile.Write(path, func(w io.Writer) error {
		_, err := b.WriteTo(w)
		return err
	})
}

// withoutLongTexts returns the table without columns that don't fit: half a
// list of numbers would be worse than none.
func withoutLongTexts(t layer.Table) (layer.Table, []string) {
	var keep []int
	var dropped []string
	for k, c := range t.Layer.Columns {
		if slices.ContainsFunc(t.Rows, func(f layer.Row) bool {
			s, ok := f.Values[k].(string)
			return ok && len(s) > maxText
		}) {
			dropped = append(dropped, c.Name)
			continue
		}
		keep = append(keep, k)
	}
	if dropped == nil {
		return t, nil
	}
	out := layer.Table{Layer: t.Layer, Z: t.Z}
	out.Layer.Columns = nil
	for _, k := range keep {
		out.Layer.Columns = append(out.Layer.Columns, t.Layer.Columns[k])
	}
	for _, f := range t.Rows {
		var values []any
		for _, k := range keep {
			values = append(values, f.Values[k])
		}
		f.Values = values
		out.Rows = append(out.Rows, f)
	}
	return out, dropped
}

// Names returns names of at most ten characters for columns, all different. Of
// a longer name the longest word loses its last letter until the rest fits.
func Names(columns []layer.Column) []string {
	var out []string
	taken := map[string]bool{}
	for _, c := range columns {
		if len(c.Name) <= maxName {
			taken[strings.ToLower(c.Name)] = true
		}
	}
	for _, c := range columns {
		name := c.Name
		if len(name) > maxName {
			name = shortened(name, maxName)
			for n := 2; taken[strings.ToLower(name)]; n++ {
				suffix := strconv.Itoa(n)
				name = shortened(c.Name, maxName-len(suffix)) + suffix
			}
			taken[strings.ToLower(name)] = true
		}
		out = append(out, name)
	}
	return out
}

func shortened(name string, limit int) string {
	words := strings.Split(name, "_")
	for {
		name = strings.Join(words, "_")
		if len(name) <= limit {
			return name
		}
		longest := 0
		for i, w := range words {
			if len(w) > len(words[longest]) {
				longest = i
			}
		}
		if len(words[longest]) <= 1 {
			return name[:limit]
		}
		words[longest] = words[longest][:len(words[longest])-1]
	}
}
