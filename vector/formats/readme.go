package formats

import (
	"fmt"
	"io"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/layer"
)

// FileReadme is the page for whoever receives the folder.
const FileReadme = "README.txt"

// Describe writes the page for the receiver and the list of checksums into a
// folder that holds a whole delivery. toWGS84 names the operation that brought
// coordinates to longitude and latitude; empty where there was none.
func Describe(folder string, s layer.Set, toWGS84 string) error {
	return describe(folder, map[string]string{}, s, toWGS84)
}

// DescribeBeside is Describe for files that are to be added to a delivery: both
// go into the folder of the new files, and speak of those of the delivery as
// well.
func DescribeBeside(folder, delivery string, s layer.Set, toWGS84 string) error {
	sums, err := readSums(delivery)
	if err != nil {
		return fmt.Errorf("checksums of %s: %w", delivery, err)
	}
	return describe(folder, sums, s, toWGS84)
}

func describe(folder string, sums map[string]string, s layer.Set, toWGS84 string) error {
	if err := sumFiles(folder, sums); err != nil {
		return fmt.Errorf("checksums: %w", err)
	}
	page := readme(s, toWGS84, slices.Sorted(maps.Keys(sums)))
	path := filepath.Join(folder, FileReadme)
	err := atomicfile.Write(path, func(w io.Writer) error {
		_, err := io.WriteString(w, page)
		return err
	})
	if err != nil {
		return err
	}
	if sums[FileReadme], err = sumFile(path); err != nil {
		return err
	}
	return writeSums(filepath.Join(folder, FileSums), sums)
}

// about says what files are, by name or by the folder that they lie in.
var about = [...]struct{ name, what string }{
	{FileGeoPackage, "all layers, for any GIS; start here"},
	{FileGeoJSON, "roof edges in WGS 84 longitude and latitude, for web maps"},
	{"geojson/", "the other layers likewise"},
	{FileProjectedGeoJSON, "roof edges in the CRS of the layers; not every program expects that"},
	{"geojsonl/", "all layers in WGS 84, a feature a line"},
	{"fgb/", "all layers with geometries as FlatGeobuf"},
	{"parquet/", "all layers as GeoParquet, for databases and data science"},
	{"shp/", "all layers as Shapefile; fields.csv has the field names in full"},
	{"dxf/", "the drawing, and the list of corners"},
	{"style/", "how the layers may be drawn (OGC SLD 1.1 with SE 1.1)"},
	{"metadata.xml", "metadata as ISO 19115-3: lineage, CRS, accuracy, cautions"},
	{"accuracy-statement.txt", "what was tested, by which standard, and what came of it"},
	{"report.html", "what was found and how good it is; open it in a browser"},
	{"report.pdf", "the report, printed"},
	{"run.json", "every parameter, input and figure of the run"},
	{"terrain.tif", "elevation of the terrain"},
	{"terrain-interpolated.tif", "where the terrain is only interpolated"},
	{FileSums, "checksums: sha256sum -c " + FileSums},
}

// readme is a page of text, at most 79 characters wide.
func readme(s layer.Set, toWGS84 string, files []string) string {
	var b strings.Builder
	b.WriteString("BUILDING FOOTPRINTS\n===================\n\n")
	b.WriteString(wrapped(contentOf(s)))
	b.WriteString("\nFiles\n-----\n")
	for _, a := range about {
		if a.name == FileSums || slices.ContainsFunc(files, func(f string) bool {
			return f == a.name || strings.HasSuffix(a.name, "/") && strings.HasPrefix(f, a.name)
		}) {
			fmt.Fprintf(&b, "%s\n", hanging(a.name, a.what))
		}
	}
	b.WriteString("\nCoordinates\n-----------\n")
	b.WriteString(wrapped(coordinatesOf(s.CRS, toWGS84)))
	b.WriteString("\nWhat the outlines are\n---------------------\n")
	b.WriteString(wrapped("Roof edges as seen from above, gutters included (INSPIRE roofEdge). They are not the walls, which stand back by the overhang; layer wall_outlines has the walls of those buildings of which every side was seen."))
	b.WriteString("\nAccuracy\n--------\n")
	b.WriteString(wrapped(accuracyOf(s)))
	b.WriteString("\nCautions\n--------\n")
	b.WriteString(wrapped("This is no boundary survey. Where a legal boundary, a setback, an insured value or a flight depends on an outline, follow the local code and have a licensed professional certify it. Buildings with a reason in column review should be looked at before they are used; layer held_back shows what was left out, and why."))
	if s.Lineage != "" {
		b.WriteString("\nWhere it comes from\n-------------------\n")
		b.WriteString(wrapped(s.Lineage))
	}
	return b.String()
}

func contentOf(s layer.Set) string {
	var parts []string
	for _, name := range []string{"footprints", "corners", "held_back"} {
		if t, ok := s.Table(name); ok {
			parts = append(parts, fmt.Sprintf("%d %s", len(t.Rows), strings.ReplaceAll(name, "_", " ")))
		}
	}
	return "Outlines of buildings from lidar, each corner with its standard error: " + strings.Join(parts, ", ") + ". Layers and columns are of version " + vector.SchemaVersion + "; each column has its title, meaning and unit in the GeoPackage."
}

func coordinatesOf(c vector.CRS, toWGS84 string) string {
	unit := func(u vector.Unit) string {
		if !u.Known() {
			return "a unit that is not known"
		}
		return u.Name
	}
	text := "The CRS is not known: coordinates are those of the cloud."
	if c.Known() {
		text = "CRS: " + c.String()
		if c.Name != "" && c.Name != c.String() {
			text += " (" + c.Name + ")"
		}
		text += "."
	}
	text += fmt.Sprintf(" Lengths are in %s, elevations and heights in %s", unit(c.Horizontal), unit(c.Vertical))
	if c.VerticalCode != 0 {
		text += fmt.Sprintf(", of EPSG:%d", c.VerticalCode)
	}
	text += "; columns that end in _m or _m2 are in metres. x is east, y is north."
	if toWGS84 != "" {
		text += " Files in WGS 84 came there by " + toWGS84 + ": no better than that, however many digits they have."
	}
	return text
}

// accuracyOf tells of the corners' standard errors and of the test.
func accuracyOf(s layer.Set) string {
	text := "Standard errors are relative to the cloud."
	if t, ok := s.Table("corners"); ok {
		if all := numbers(t, "ellipse_major"); len(all) > 0 {
			slices.Sort(all)
			text += fmt.Sprintf(" Corners: median %.3f, nine of ten below %.3f, largest %.3f %s.",
				all[len(all)/2], all[min(len(all)*9/10, len(all)-1)], all[len(all)-1], s.CRS.Horizontal.Symbol)
		}
	}
	tested := 0
	if t, ok := s.Table("corner_checks"); ok {
		tested = len(numbers(t, "delta_e"))
	}
	if tested == 0 {
		return text + " Nothing was tested against surveyed points, so that the position of the cloud itself is not known to be good."
	}
	return text + fmt.Sprintf(" %d surveyed points were compared with corners of roofs or walls: accuracy-statement.txt has the figures, layer corner_checks each difference.", tested)
}

// numbers returns the values of a column that are known.
func numbers(t layer.Table, column string) []float64 {
	var out []float64
	i := t.Layer.Column(column)
	for _, row := range t.Rows {
		if i < 0 {
			break
		}
		if v, ok := row.Values[i].(float64); ok && !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out
}

// Widths of the page and of its column of names.
const (
	pageWidth = 79
	nameWidth = 30
)

// wrapped breaks a text into lines.
func wrapped(text string) string { return strings.Join(lines(text, pageWidth), "\n") + "\n" }

func hanging(name, text string) string {
	return fmt.Sprintf("%-*s%s", nameWidth, name, strings.Join(lines(text, pageWidth-nameWidth), "\n"+strings.Repeat(" ", nameWidth)))
}

func lines(text string, width int) []string {
	out := []string{""}
	for word := range strings.FieldsSeq(text) {
		last := out[len(out)-1]
		switch {
		case last == "":
			out[len(out)-1] = word
		case len([]rune(last))+1+len([]rune(word)) > width:
			out = append(out, word)
		default:
			out[len(out)-1] = last + " " + word
		}
	}
	return out
}
