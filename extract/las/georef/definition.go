package georef

import (
	"strings"

	"quoin/vector"
)

// FromWKT returns the CRS that well-known text defines: name, kind, codes
// and units as far as the text gives them, and the text itself.
//
// Text that cannot be taken apart is an error; a definition of an unknown sort
// gives a CRS of unknown kind.
func FromWKT(s string) (vector.CRS, error) {
	root, err := Parse(s)
	if err != nil {
		return vector.CRS{}, err
	}
	c := vector.CRS{Name: root.Word(0), WKT: strings.TrimRight(s, "\x00 \t\r\n")}
	horizontal, vertical := parts(root)
	if horizontal != nil {
		c.Kind = kindOf(horizontal)
		c.Authority, c.Code = horizontal.Identifier()
		if c.Kind != vector.GeographicCRS {
			c.Horizontal = unitOfAxis(horizontal, 0)
		}
		c.Vertical = thirdAxis(horizontal)
	}
	if vertical != nil {
		if authority, code := vertical.Identifier(); authority == "EPSG" {
			c.VerticalCode = code
		}
		c.Vertical = unitOfAxis(vertical, 0)
	}
	return c, nil
}

// parts returns the horizontal and the vertical element of a definition;
// either may be nil.
func parts(n *Node) (horizontal, vertical *Node) {
	switch n.Keyword {
	case "COMPD_CS", "COMPOUNDCRS":
		for _, inner := range n.Nodes {
			h, v := parts(inner)
			if horizontal == nil {
				horizontal = h
			}
			if vertical == nil {
				vertical = v
			}
		}
		return horizontal, vertical
	case "BOUNDCRS":
		if source := n.Child("SOURCECRS"); source != nil && len(source.Nodes) > 0 {
			return parts(source.Nodes[0])
		}
	case "VERT_CS", "VERTCRS", "VERTICALCRS":
		return nil, n
	}
	if kindOf(n) != vector.UnknownCRS {
		return n, nil
	}
	return nil, nil
}

func kindOf(n *Node) vector.CRSKind {
	switch n.Keyword {
	case "PROJCS", "PROJCRS", "PROJECTEDCRS":
		if isWebMercator(n) {
			return vector.WebMercatorCRS
		}
		return vector.ProjectedCRS
	case "GEOGCS", "GEOGCRS", "GEOGRAPHICCRS":
		return vector.GeographicCRS
	case "GEODCRS", "GEODETICCRS":
		if strings.EqualFold(n.Child("CS").Word(0), "Cartesian") {
			return vector.GeocentricCRS
		}
		return vector.GeographicCRS
	case "GEOCCS":
		return vector.GeocentricCRS
	case "LOCAL_CS", "ENGCRS", "ENGINEERINGCRS":
		return vector.LocalCRS
	}
	return vector.UnknownCRS
}

// isWebMercator tells the spherical Mercator of web maps by its code, its
// method, its name, or the extension that older definitions use for it.
func isWebMercator(n *Node) bool {
	if _, code := n.Identifier(); isWebMercatorCode(code) {
		return true
	}
	method := n.Child("PROJECTION").Word(0) + n.Child("CONVERSION").Child("METHOD", "PROJECTION").Word(0)
	extension := n.Child("EXTENSION").Word(1)
	return strings.Contains(fold(method), "auxiliarysphere") || strings.Contains(fold(method), "pseudomercator") ||
		strings.Contains(fold(n.Word(0)), "pseudomercator") ||
		strings.Contains(extension, "+proj=merc") && strings.Contains(extension, "+b=6378137")
}

// isWebMercatorCode reports whether a code is that of Web Mercator: EPSG's,
// and those it had with others before 2009.
func isWebMercatorCode(code int) bool {
	switch code {
	case webMercator, 3785, 900913, 102100, 102113:
		return true
	}
	return false
}

// fold drops what names of methods are spelled apart by.
func fold(s string) string {
	return strings.NewReplacer(" ", "", "_", "", "-", "").Replace(strings.ToLower(s))
}

// unitOfAxis returns the unit of an element's axis: its own, else the one that
// holds for all axes.
func unitOfAxis(n *Node, axis int) vector.Unit {
	if own := lengthUnit(axisOf(n, axis)); own.Known() {
		return own
	}
	return lengthUnit(n)
}

func axisOf(n *Node, axis int) *Node {
	for _, inner := range n.Nodes {
		if inner.Keyword != "AXIS" {
			continue
		}
		if axis == 0 {
			return inner
		}
		axis--
	}
	return nil
}

// thirdAxis returns the unit of a height that is part of the horizontal
// element, as in a geographic 3D CRS; unknown when it has two axes.
func thirdAxis(n *Node) vector.Unit {
	up := axisOf(n, 2)
	if up == nil || kindOf(n) == vector.GeocentricCRS {
		return vector.Unit{}
	}
	if own := lengthUnit(up); own.Known() {
		return own
	}
	if kindOf(n) == vector.GeographicCRS {
		return vector.Unit{}
	}
	return lengthUnit(n)
}

// lengthUnit returns the unit of length given directly in an element.
func lengthUnit(n *Node) vector.Unit {
	unit := n.Child("UNIT", "LENGTHUNIT")
	if unit == nil {
		return vector.Unit{}
	}
	if authority, code := unit.Identifier(); authority == "EPSG" {
		if u := unitOfCode(code); u.Known() {
			return u
		}
	}
	return UnitOfLength(unit.Word(0), unit.Number(1))
}
