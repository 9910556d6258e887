package report

import (
	"bytes"
	_ "embed" // for the template, the style and the script
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/jpeg"
	"io"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/atomicfile"
	"quoin/vector/control"
	"quoin/vector/plate"
	"quoin/vector/statement"
)

// Content is what a page tells.
type Content struct {
	Delivery vector.Delivery
	// Image is the block seen from above, north up, and Bound the place it
	// covers in the CRS of the delivery.
	Image image.Image
	Bound orb.Bound
	// Source says in a few words what the image shows.
	Source string
	// Checked is the test against surveyed points; nil when there was none.
	Checked *control.Result
	// Assessed is what the test comes to; nil when there was none.
	Assessed *assess.Assessment
	// Statement is the accuracy statement, section by section.
	Statement []statement.Section
	// Plates are drawings of single buildings and points over the image, and
	// PlatesLeft is how many there would be more.
	Plates     []Plate
	PlatesLeft int
	// Facts are groups of what was measured, given and assumed.
	Facts []Group
	// Warnings are sentences that the reader should know of.
	Warnings []string
	// ImageCheck says how the outlines lie on an orthophoto, in sentences; empty
	// when they were not compared with one.
	ImageCheck []string
	// Certificate adds a block for a licensed professional to fill in and seal.
	Certificate bool
	// Format is how numbers are written.
	Format Format
	// Version is the program's.
	Version string
}

// A Plate is one drawing, an SVG element that uses the element PlanImage.
type Plate struct {
	Title string
	SVG   template.HTML
}

// PlanImage is the id of the image of the plan.
const PlanImage = "nadir"

// A Group is a titled list of facts.
type Group struct {
	Title string
	Facts []Fact
}

// A Fact is a name with its value, unit included, and where it comes from.
type Fact struct{ Name, Value, Origin string }

//go:embed page.html
var pageSource string

//go:embed control.html
var controlSource string

//go:embed buildings.html
var buildingsSource string

//go:embed style.css
var style string

//go:embed view.js
var script string

// imageQuality is that of the JPEG in the page: aerial pictures show no loss
// at it (common practice, no source).
const imageQuality = 82

// Write makes the page at path, whole or not at all. The same content gives
// the same bytes.
func Write(path string, c Content) error {
	page, err := newPage(c)
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	t := template.New("page").Funcs(functions(c.Delivery.CRS, c.Format))
	for _, source := range []string{controlSource, buildingsSource, pageSource} {
		if t, err = t.Parse(source); err != nil {
			return fmt.Errorf("report: %w", err)
		}
	}
	err = atomicfile.Write(path, func(w io.Writer) error { return t.Execute(w, page) })
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}

// A page is what the template fills in.
type page struct {
	Content
	Style     template.CSS
	Script    template.JS
	ImageData template.URL
	Plan      plan
	Buildings []building
	Looks     []look
	Residuals *residuals
	Charts    []chart
	// Reference is what outlines follow, as INSPIRE names it.
	Reference string
	Adjusted  int
	Area      float64
	SigmaMid  float64
	SigmaTop  float64
}

func newPage(c Content) (*page, error) {
	var buffer bytes.Buffer
	if err := jpeg.Encode(&buffer, c.Image, &jpeg.Options{Quality: imageQuality}); err != nil {
		return nil, err
	}
	p := &page{
		Content: c, Style: template.CSS(style + plate.Style()), Script: template.JS(script),
		ImageData: template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(buffer.Bytes())),
		Plan:      newPlan(c),
		Residuals: newResiduals(c), Reference: vector.RoofEdge,
	}
	p.Buildings = p.Plan.buildings(c)
	p.Looks = p.Plan.looks(p.Buildings)
	if c.Checked != nil {
		p.Charts = append(errorCharts(c), qualityCharts(c)...)
	}
	p.summarise()
	return p, nil
}
