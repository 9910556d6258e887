// Package style describes how layers may be drawn, as OGC Styled Layer
// Descriptor 1.1 (05-078r4) with Symbology Encoding 1.1 (05-077r4).
//
// The colours are our own choice. They differ in lightness as well as in hue, and
// what matters differs in line or mark too, so that maps can be read with every
// kind of colour vision and in black and white.
package style

import (
	"bytes"
	"encoding/xml"
	"fmt"

	"quoin/vector/layer"
)

// The colours, from dark to light.
const (
	ink    = "#16243a" // walls, and what was surveyed
	roof   = "#1f5fae" // roof edges and their corners
	look   = "#e07b00" // what a person should look at
	quiet  = "#b4bdc7" // what was held back, and lines that help
	paper  = "#ffffff"
	narrow = "0.8"
)

// near is the scale from which corners are worth drawing: the standard's pixel
// of 0.28 mm is 0.7 m there.
const near = 2500

// A rule draws the features that a filter lets through.
type rule struct {
	name, title string
	// property and value say which; pattern takes any text but an empty one;
	// otherwise takes what no other rule took. All empty takes everything.
	property, value    string
	pattern, otherwise bool
	// max is the scale denominator below which it is drawn; 0 for always.
	max    int
	symbol symbol
}

// A symbol is how a feature is drawn. Fill and mark are empty for none.
type symbol struct {
	stroke, width, dash string
	fill, opacity       string
	mark, size          string
}

// rulesOf returns those of a layer: of one that is not known by name, those of
// its geometry.
func rulesOf(l layer.Layer) []rule {
	switch l.Name {
	case "footprints":
		return []rule{
			{name: "look", title: "Roof edge, to be looked at", property: "review", pattern: true, symbol: symbol{stroke: look, width: "2", dash: "8 4", fill: look, opacity: "0.18"}},
			{name: "roof", title: "Roof edge", otherwise: true, symbol: symbol{stroke: roof, width: "2", fill: roof, opacity: "0.18"}},
		}
	case "wall_outlines":
		return []rule{{name: "wall", title: "Wall line", symbol: symbol{stroke: ink, width: "1.2", dash: "2 3"}}}
	case "held_back":
		return []rule{{name: "held-back", title: "Held back", symbol: symbol{stroke: quiet, width: "1", dash: "3 3", fill: quiet, opacity: "0.25"}}}
	case "corners":
		return []rule{
			{name: "extended", title: "Corner, from an edge carried on", property: "kind", value: "extended", max: near, symbol: symbol{mark: "circle", size: "8", fill: paper, stroke: roof, width: "1.5"}},
			{name: "adjusted", title: "Corner, both edges seen", otherwise: true, max: near, symbol: symbol{mark: "circle", size: "7", fill: roof, stroke: paper, width: "1"}},
		}
	case "corner_checks":
		return []rule{
			{name: "left-out", title: "Surveyed point, with a reason", property: "reason", pattern: true, symbol: symbol{mark: "x", size: "12", stroke: look, width: "2.5"}},
			{name: "surveyed", title: "Surveyed point", otherwise: true, symbol: symbol{mark: "cross", size: "12", stroke: ink, width: "1.5"}},
		}
	}
	switch l.Geometry {
	case layer.Polygon:
		return []rule{{name: l.Name, title: l.Title, symbol: symbol{stroke: quiet, width: narrow}}}
	case layer.Line:
		return []rule{{name: l.Name, title: l.Title, max: near, symbol: symbol{stroke: quiet, width: narrow}}}
	}
	return []rule{{name: l.Name, title: l.Title, max: near, symbol: symbol{mark: "square", size: "6", fill: quiet, stroke: ink, width: narrow}}}
}

// SLD returns the style of a layer that has geometries. Properties in its
// filters have at most ten letters, so that it goes with Shapefiles too.
func SLD(l layer.Layer) []byte {
	w := writer{}
	w.b.WriteString(xml.Header)
	w.b.WriteString(`<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld" xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc" xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.1.0/StyledLayerDescriptor.xsd">` + "\n")
	w.line(`<sld:NamedLayer><se:Name>%s</se:Name>`, l.Name)
	w.line(`<sld:UserStyle><se:Name>%s</se:Name><se:Description><se:Title>%s</se:Title></se:Description><sld:IsDefault>1</sld:IsDefault>`, l.Name, l.Title)
	w.line(`<se:FeatureTypeStyle>`)
	for _, r := range rulesOf(l) {
		w.rule(r, l.Geometry)
	}
	w.line(`</se:FeatureTypeStyle></sld:UserStyle></sld:NamedLayer>`)
	w.line(`</sld:StyledLayerDescriptor>`)
	return w.b.Bytes()
}

type writer struct{ b bytes.Buffer }

// line writes a line with texts made safe.
func (w *writer) line(format string, texts ...any) {
	for i, t := range texts {
		if s, ok := t.(string); ok {
			var b bytes.Buffer
			if err := xml.EscapeText(&b, []byte(s)); err != nil {
				panic(err) // a buffer takes everything
			}
			texts[i] = b.String()
		}
	}
	fmt.Fprintf(&w.b, format+"\n", texts...)
}

func (w *writer) rule(r rule, g layer.Geometry) {
	w.line(`<se:Rule><se:Name>%s</se:Name><se:Description><se:Title>%s</se:Title></se:Description>`, r.name, r.title)
	switch {
	case r.pattern:
		w.line(`<ogc:Filter><ogc:PropertyIsLike wildCard="*" singleChar="?" escapeChar="!"><ogc:PropertyName>%s</ogc:PropertyName><ogc:Literal>?*</ogc:Literal></ogc:PropertyIsLike></ogc:Filter>`, r.property)
	case r.property != "":
		w.line(`<ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>%s</ogc:PropertyName><ogc:Literal>%s</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>`, r.property, r.value)
	case r.otherwise:
		w.line(`<se:ElseFilter/>`)
	}
	if r.max > 0 {
		w.line(`<se:MaxScaleDenominator>%d</se:MaxScaleDenominator>`, r.max)
	}
	switch g {
	case layer.Polygon:
		w.line(`<se:PolygonSymbolizer>`)
		w.fill(r.symbol)
		w.stroke(r.symbol)
		w.line(`</se:PolygonSymbolizer>`)
	case layer.Line:
		w.line(`<se:LineSymbolizer>`)
		w.stroke(r.symbol)
		w.line(`</se:LineSymbolizer>`)
	default:
		w.line(`<se:PointSymbolizer><se:Graphic><se:Mark><se:WellKnownName>%s</se:WellKnownName>`, r.symbol.mark)
		w.fill(r.symbol)
		w.stroke(r.symbol)
		w.line(`</se:Mark><se:Size>%s</se:Size></se:Graphic></se:PointSymbolizer>`, r.symbol.size)
	}
	w.line(`</se:Rule>`)
}

func (w *writer) fill(s symbol) {
	if s.fill == "" {
		return
	}
	w.line(`<se:Fill>%s</se:Fill>`, parameters{{"fill", s.fill}, {"fill-opacity", s.opacity}}.xml())
}

func (w *writer) stroke(s symbol) {
	w.line(`<se:Stroke>%s</se:Stroke>`, parameters{{"stroke", s.stroke}, {"stroke-width", s.width}, {"stroke-dasharray", s.dash}}.xml())
}

// parameters are names with values; those without a value are left out.
type parameters [][2]string

// markup is text that is XML already.
type markup string

func (p parameters) xml() markup {
	var out markup
	for _, v := range p {
		if v[1] != "" {
			out += markup(`<se:SvgParameter name="` + v[0] + `">` + v[1] + `</se:SvgParameter>`)
		}
	}
	return out
}
