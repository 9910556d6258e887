package statement

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/atomicfile"
	"quoin/vector/control"
)

// Content is what a statement is about.
type Content struct {
	Delivery vector.Delivery
	// CRS is that of the cloud, in which all figures are; LayersCRS says where
	// the layers are, when that is elsewhere, and by which operation.
	CRS       vector.CRS
	LayersCRS string
	// Assessment is nil when there were no surveyed points.
	Assessment *assess.Assessment
	// Internal says what the cloud itself tells of its accuracy.
	Internal []string
	// Image says how the footprints lie on an orthophoto; nil without one.
	Image []string
	// Certificate adds a block for a licensed professional to fill in.
	Certificate bool
	// Version is the program's.
	Version string
}

// A Section is a title with its sentences.
type Section struct {
	Title string
	Lines []string
}

// Sections returns the whole statement.
func Sections(c Content) []Section {
	s := []Section{{"Data", data(c)}}
	if a := c.Assessment; a == nil {
		s = append(s, Section{"Not tested", untested(c)})
	} else {
		s = append(s, tested(c, a)...)
	}
	if c.Image != nil {
		s = append(s, Section{"On the orthophoto", c.Image})
	}
	s = append(s, Section{"Cautions", cautions()})
	if c.Certificate {
		s = append(s, Section{"For the licensed professional in responsible charge", certificate()})
	}
	return s
}

func data(c Content) []string {
	lines := []string{
		fmt.Sprintf("Building footprints, roof edges seen from above, gutter lip included: %s in %s.", counted(len(c.Delivery.Footprints), "building"), crsName(c.CRS)),
		fmt.Sprintf("Horizontal unit: %s. Vertical unit: %s. All figures are on the grid of that system.", named(c.CRS.Horizontal), named(c.CRS.Vertical)),
	}
	if c.LayersCRS != "" {
		lines = append(lines, "The layers are delivered in "+c.LayersCRS+".")
	}
	return lines
}

func crsName(c vector.CRS) string {
	if c.Name != "" && c.Code != 0 {
		return fmt.Sprintf("%s (%s)", c, c.Name)
	}
	return c.String()
}

func named(u vector.Unit) string {
	if !u.Known() {
		return "unknown"
	}
	return u.Name
}

func untested(c Content) []string {
	lines := []string{"Not tested: no surveyed points were given. No accuracy in the coordinate reference system is stated, and none follows from what is said below."}
	if middle, most, n := sigmas(c.Delivery); n > 0 {
		lines = append(lines, fmt.Sprintf("Internal evidence: the standard errors of %s relative to the cloud have a median of %s; 95 of 100 are below %s. They say how well the points determine the edges, not where the cloud lies.",
			counted(n, "corner"), length(middle, c.CRS.Horizontal), length(most, c.CRS.Horizontal)))
	}
	return append(lines, c.Internal...)
}

// sigmas returns the median and the 95th percentile of the larger semi-axis of
// the corners' standard error ellipses, and their number.
func sigmas(d vector.Delivery) (middle, most float64, n int) {
	var v []float64
	for _, c := range d.Corners() {
		if major, _, _ := c.Axes(); !math.IsNaN(major) {
			v = append(v, major)
		}
	}
	if n = len(v); n == 0 {
		return math.NaN(), math.NaN(), 0
	}
	sortFloats(v)
	return v[n/2], v[min(n*95/100, n-1)], n
}

func cautions() []string {
	return []string{
		"These outlines are roof edges, not walls, and no boundary survey.",
		"Corners of one building are not independent of each other: the number of buildings says more than the number of points.",
		"This text was made by a program. It is no certificate. Where a legal boundary, an insured value or a flight depends on the data, follow the codes that hold where the work is, and have a licensed professional certify it.",
	}
}

func certificate() []string {
	return []string{
		"To be filled in by the professional; the program states nothing here.",
		"I have examined the data, the survey and the figures above, and state:",
		"____________________________________________________________",
		"Name: ______________________  Licence number and jurisdiction: ______________________",
		"Date: ______________________  Signature and seal: ______________________",
	}
}

// length prints a length with its unit, to the millimetre or what comes near.
func length[F ~float64](v F, u vector.Unit) string {
	if math.IsNaN(float64(v)) {
		return "unknown"
	}
	if !u.Known() {
		return fmt.Sprintf("%.3f", float64(v))
	}
	return fmt.Sprintf("%.3f %s", float64(v), u.Symbol)
}

func signed[F ~float64](v F) string {
	if math.IsNaN(float64(v)) {
		return "unknown"
	}
	if text := fmt.Sprintf("%+.3f", float64(v)); text != "-0.000" && text != "+0.000" {
		return text
	}
	return "0.000"
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// width is that of the text file, in characters.
const width = 78

// Text returns the statement as plain text.
func Text(c Content) string {
	var b strings.Builder
	b.WriteString("ACCURACY STATEMENT\n==================\n")
	for _, s := range Sections(c) {
		fmt.Fprintf(&b, "\n%s\n%s\n", s.Title, strings.Repeat("-", utf8.RuneCountInString(s.Title)))
		for _, l := range s.Lines {
			wrap(&b, l)
		}
	}
	fmt.Fprintf(&b, "\nMade by quoin %s.\n", c.Version)
	return b.String()
}

// wrap breaks a sentence into lines. What has several blanks in a row is a row
// of a table or of a form and stays as it is.
func wrap(b *strings.Builder, text string) {
	if strings.Contains(text, "  ") {
		b.WriteString(text + "\n")
		return
	}
	used := 0
	for _, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case used == 0:
		case used+1+n > width:
			b.WriteString("\n")
			used = 0
		default:
			b.WriteByte(' ')
			used++
		}
		b.WriteString(word)
		used += n
	}
	b.WriteByte('\n')
}

// Write writes the statement as plain text, whole or not at all.
func Write(path string, c Content) error {
	err := atomicfile.Write(path, func(w io.Writer) error {
		_, err := io.WriteString(w, Text(c))
		return err
	})
	if err != nil {
		return fmt.Errorf("statement: %w", err)
	}
	return nil
}

// tested returns the sections of a delivery that has surveyed points.
func tested(c Content, a *assess.Assessment) []Section {
	s := []Section{
		{headline(a), figures(c, a)},
		{"NSSDA (FGDC-STD-007.3-1998)", nssda(c, a)},
		{"ASPRS Positional Accuracy Standards, Edition 2 (2023)", asprs(c, a)},
		{"Points", points(c, a)},
		{"Bias, blunders, trend", findings(c, a)},
		{"Stated uncertainties", uncertainties(c, a)},
	}
	if a.Ground != nil {
		s = append(s, Section{"Ground of the cloud", ground(c, a)})
	}
	if a.Walls != nil {
		s = append(s, Section{"Walls", walls(c, a.Walls)})
	}
	if a.Adjustment != nil {
		s = append(s, Section{"Adjustment", adjustment(c, a)})
	}
	return append(s, Section{"Method", method(a)})
}

func headline(a *assess.Assessment) string {
	if a.Matched == 0 {
		return "Not tested: no check point has a corner"
	}
	return fmt.Sprintf("Tested against %s on %s", counted(a.Used, "surveyed check point"), counted(a.Buildings, "building"))
}

// row is one line of the table of figures.
func row(name string, s control.Statistics) string {
	return fmt.Sprintf("  %-17s %4d %9s %9s %8.3f %8.3f %8.3f", name, s.East.N, signed(s.East.Mean), signed(s.North.Mean),
		float64(s.East.RMSE), float64(s.North.RMSE), float64(s.RMSEH))
}
