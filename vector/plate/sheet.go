package plate

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"image"
	"image/jpeg"
	"image/png"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// An Underlay is the image below the drawing.
type Underlay struct {
	// Image is north up and covers Bound. Nil leaves the paper white.
	Image image.Image
	Bound orb.Bound
	// Reference is the id of an element of the page that draws the image, a unit a
	// pixel; empty to put the image into the plate.
	Reference string
}

// A Sheet is what the plates of a delivery have in common.
type Sheet struct {
	CRS vector.CRS
	// Source says what the images show.
	Source string
}

// side is the side of the map on a sheet, caption the height of what is written
// below it, in units of the drawing.
const side, caption = 1000, 192

// quality is that of the JPEG in a plate: aerial pictures show no loss at it
// (common practice, no source).
const quality = 85

// style is that of plates. Colours are told apart by people who see no
// difference between red and green: amber, blue and magenta (after Okabe & Ito
// 2008, Color Universal Design; shades from memory).
const style = `.pl text{font:16px system-ui,"DejaVu Sans",sans-serif;fill:#1d2329}` +
	`.pl .halo{stroke:#fff;stroke-width:4px;paint-order:stroke;stroke-linejoin:round}` +
	`.pl .title{font-weight:600;font-size:22px}.pl .soft{fill:#5a646e;font-size:14px}.pl .small{font-size:13px}` +
	`.pl .mid{text-anchor:middle}.pl .end{text-anchor:end}` +
	`.pl .case{fill:none;stroke:#fff;stroke-width:5;stroke-linejoin:round}` +
	`.pl .roof{fill:none;stroke:#8a3b12;stroke-width:2.5;stroke-linejoin:round}.pl .look{stroke-dasharray:9 4}` +
	`.pl .other{fill:none;stroke:#fff;stroke-width:1.5;stroke-dasharray:5 4}` +
	`.pl .wall{fill:none;stroke:#1d2329;stroke-width:1.5;stroke-dasharray:2 3}` +
	`.pl .in{fill:none;stroke:#ffb000;stroke-width:4;stroke-linecap:round}` +
	`.pl .out{fill:none;stroke:#2f9bff;stroke-width:4;stroke-linecap:round}` +
	`.pl .wrong{fill:none;stroke:#ff2bd6;stroke-width:7;stroke-linecap:round}` +
	`.pl .fine .in,.pl .fine .out{stroke-width:2.2}.pl .fine .wrong{stroke-width:4.4}` +
	`.pl .seen{fill:none;stroke:#009e73;stroke-width:2}` +
	`.pl .corner{fill:#8a3b12;stroke:#fff;stroke-width:1.5}.pl .extended{fill:#fff;stroke:#8a3b12}` +
	`.pl .error{fill:rgb(20 90 200 / 15%);stroke:#1456c8;stroke-width:2}` +
	`.pl .survey{fill:rgb(255 208 0 / 20%);stroke:#ffd000;stroke-width:2}` +
	`.pl .arrow{fill:none;stroke:#ffd000;stroke-width:4}.pl .left{stroke:#ff2bd6}` +
	`.pl .cross{fill:none;stroke:#1d2329;stroke-width:2}` +
	`.pl .frame{fill:none;stroke:#1d2329;stroke-width:1.5}.pl .ink{fill:#1d2329;stroke:#fff;stroke-width:2;paint-order:stroke}`

// A drawing is a sheet on its way.
type drawing struct {
	strings.Builder
	sheet         Sheet
	bound         orb.Bound
	scale         float64 // units of the drawing in a CRS unit
	width, height float64
}

// Style is the style sheet that plates with a Reference leave to their page.
func Style() string { return style }

// draw returns a sheet of a place, whose longer side fills the map.
func (s Sheet) draw(bound orb.Bound, under Underlay, label string) *drawing {
	w, h := bound.Max[0]-bound.Min[0], bound.Max[1]-bound.Min[1]
	d := &drawing{sheet: s, bound: bound, scale: side / max(w, h)}
	d.width, d.height = w*d.scale, h*d.scale
	fmt.Fprintf(d, `<svg class="pl" xmlns="http://www.w3.org/2000/svg" viewBox="-8 -8 %s %s" role="img" aria-label="%s">`,
		short(max(d.width, side)+16), short(d.height+caption+16), html.EscapeString(label))
	if under.Reference == "" {
		fmt.Fprintf(d, `<style>%s</style><rect x="-8" y="-8" width="%s" height="%s" fill="#fff"/>`, style, short(max(d.width, side)+16), short(d.height+caption+16))
	}
	fmt.Fprintf(d, `<svg width="%s" height="%s" viewBox="0 0 %[1]s %[2]s">`, short(d.width), short(d.height))
	d.image(under)
	return d
}

// image draws what is below.
func (d *drawing) image(u Underlay) {
	if u.Image == nil {
		return
	}
	size := u.Image.Bounds().Size()
	x, y := d.at(orb.Point{u.Bound.Min[0], u.Bound.Max[1]})
	w, h := (u.Bound.Max[0]-u.Bound.Min[0])*d.scale, (u.Bound.Max[1]-u.Bound.Min[1])*d.scale
	if u.Reference != "" {
		fmt.Fprintf(d, `<use href="#%s" transform="translate(%s %s) scale(%s %s)"/>`,
			html.EscapeString(u.Reference), short(x), short(y), precise(w/float64(size.X)), precise(h/float64(size.Y)))
		return
	}
	kind, data, ok := encode(u.Image)
	if !ok {
		return // an image without pixels: nothing to see
	}
	rendering := ""
	if w > coarse*float64(size.X) {
		rendering = ` style="image-rendering:pixelated"`
	}
	fmt.Fprintf(d, `<image x="%s" y="%s" width="%s" height="%s" preserveAspectRatio="none"%s href="data:image/%s;base64,%s"/>`,
		short(x), short(y), short(w), short(h), rendering, kind, base64.StdEncoding.EncodeToString(data))
}

// coarse is how large a pixel may be drawn before it is shown as the square that
// it is, and tiny the number of pixels up to which an image loses nothing.
const coarse, tiny = 6, 1 << 15

// encode packs an image.
func encode(m image.Image) (kind string, data []byte, ok bool) {
	var b bytes.Buffer
	size := m.Bounds().Size()
	if size.X*size.Y <= tiny {
		err := png.Encode(&b, m)
		return "png", b.Bytes(), err == nil
	}
	err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality})
	return "jpeg", b.Bytes(), err == nil
}

// at returns where a position is drawn.
func (d *drawing) at(p orb.Point) (x, y float64) {
	return (p[0] - d.bound.Min[0]) * d.scale, (d.bound.Max[1] - p[1]) * d.scale
}

// path returns the rings of a polygon.
func (d *drawing) path(p orb.Polygon) string {
	var b strings.Builder
	for _, ring := range p {
		for i, q := range ring[:max(len(ring)-1, 0)] {
			x, y := d.at(q)
			command := "L"
			if i == 0 {
				command = "M"
			}
			b.WriteString(command + short(x) + " " + short(y))
		}
		b.WriteByte('Z')
	}
	return b.String()
}

// outline draws a footprint.
func (d *drawing) outline(f vector.Footprint) {
	path := d.path(f.Polygon)
	look := ""
	if len(f.Review) > 0 {
		look = " look"
	}
	fmt.Fprintf(d, `<path class="case" d="%s"/><path class="roof%s" d="%s"/>`, path, look, path)
}

// text writes at a place, turned clockwise by so many degrees.
func (d *drawing) text(x, y, turn float64, class, content string) {
	transform := ""
	if turn != 0 {
		transform = fmt.Sprintf(` transform="rotate(%s %s %s)"`, short(turn), short(x), short(y))
	}
	fmt.Fprintf(d, `<text class="%s" x="%s" y="%s"%s>%s</text>`, class, short(x), short(y), transform, html.EscapeString(content))
}

// close ends the map with its furniture and writes the lines of the caption below:
// a title, then text in two columns.
func (d *drawing) close(title string, left, right []string) string {
	d.furniture()
	d.WriteString("</svg>")
	fmt.Fprintf(d, `<rect class="frame" width="%s" height="%s"/>`, short(d.width), short(d.height))
	d.text(0, d.height+28, 0, "title", title)
	for i, line := range left {
		d.text(0, d.height+54+20*float64(i), 0, "small", line)
	}
	for i, line := range right {
		d.text(side*0.42, d.height+54+20*float64(i), 0, "small", line)
	}
	d.text(0, d.height+caption-28, 0, "soft", fmt.Sprintf("%s. %s.", d.sheet.CRS, strings.TrimSuffix(d.sheet.Source, ".")))
	d.text(0, d.height+caption-8, 0, "soft", "Roof edges seen from above: no walls, no boundary survey.")
	d.WriteString("</svg>")
	return d.String()
}

// furniture draws the north arrow, the scale bar and a grid on the frame.
func (d *drawing) furniture() {
	d.ticks()
	d.WriteString(`<g transform="translate(34 40)"><path class="ink" d="M0 -26 11 16 0 8 -11 16Z"/></g>`)
	d.text(34, 76, 0, "halo mid", "N")
	length := roundLength((d.bound.Max[0] - d.bound.Min[0]) / 5)
	x, y := d.width-20-length*d.scale, d.height-34
	fmt.Fprintf(d, `<path d="M%s %sh%s" stroke="#fff" stroke-width="9"/><path d="M%[1]s %[2]sh%[3]s" stroke="#1d2329" stroke-width="4"/>`,
		short(x), short(y), short(length*d.scale))
	d.text(x+length*d.scale, y-10, 0, "halo end", fmt.Sprintf("%g %s", length, d.sheet.CRS.Horizontal.Symbol))
}

// ticks marks round coordinates on the frame.
func (d *drawing) ticks() {
	step := roundLength((d.bound.Max[0] - d.bound.Min[0]) / 3)
	digits := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	for e := math.Ceil(d.bound.Min[0]/step) * step; e < d.bound.Max[0]; e += step {
		x, _ := d.at(orb.Point{e, 0})
		fmt.Fprintf(d, `<path class="frame" d="M%s %sv-12"/>`, short(x), short(d.height))
		if x > 60 && x < d.width-60 {
			d.text(x, d.height-16, 0, "halo mid small", fmt.Sprintf("%.*f", digits, e))
		}
	}
	for n := math.Ceil(d.bound.Min[1]/step) * step; n < d.bound.Max[1]; n += step {
		_, y := d.at(orb.Point{0, n})
		fmt.Fprintf(d, `<path class="frame" d="M0 %sh12"/>`, short(y))
		if y > 100 && y < d.height-60 {
			d.text(31, y, -90, "halo mid small", fmt.Sprintf("%.*f", digits, n))
		}
	}
}

// roundLength returns the largest 1, 2 or 5 times a power of ten that is not
// above a length.
func roundLength(l float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(l)))
	for _, f := range []float64{5, 2} {
		if f*power <= l {
			return f * power
		}
	}
	return power
}

// short writes a coordinate of the drawing to a hundredth.
func short(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}

func precise(v float64) string { return fmt.Sprintf("%.8g", v) }
