package extract

import (
	"strings"

	"quoin/vector"
	"quoin/vector/dxf"
)

// shownInDrawing names what --drawing asks for, as it is written there.
func shownInDrawing(o dxf.Options) string {
	var names []string
	for _, s := range []struct {
		name  string
		given bool
	}{
		{"dimensions", o.Dimensions},
		{"elevations", o.Elevations},
		{"identifiers", o.Identifiers},
		{"shared-once", o.SharedOnce},
	} {
		if s.given {
			names = append(names, s.name)
		}
	}
	return strings.Join(names, ",")
}

// joined puts commas between reasons.
func joined(reasons []vector.Reason) string {
	names := make([]string, len(reasons))
	for i, r := range reasons {
		names[i] = string(r)
	}
	return strings.Join(names, ",")
}

// parameters lists every value that the run went by.
func (j *job) parameters() []Parameter {
	o, m := j.o, j.cloud.Measures
	set := func(flag string, value any, unit string) Parameter {
		p := Parameter{Name: flag, Value: value, Unit: unit, Origin: Default}
		if o.Given[flag] {
			p.Origin = Given
		}
		return p
	}
	machine := func(flag string, value any, unit string) Parameter {
		p := set(flag, value, unit)
		p.Machine = true
		return p
	}
	measured := func(name string, value float64, unit string) Parameter {
		return Parameter{Name: name, Value: value, Unit: unit, Origin: Measured}
	}
	return []Parameter{
		set("control", o.Control, ""),
		set("match-radius", o.MatchRadius, "m"),
		set("control-crs", o.Survey.CRS, ""),
		set("control-ellipsoidal", o.Survey.Ellipsoidal, ""),
		set("control-layer", o.Survey.Layer, ""),
		set("control-unit", o.Survey.Unit.Symbol, ""),
		set("control-sigma", o.Survey.SigmaH, "m"),
		set("control-sigma-up", o.Survey.SigmaU, "m"),
		set("codes", o.Survey.Codes, ""),
		set("used-in-georeferencing", strings.Join(o.Survey.Georeferencing, ","), ""),
		set("target-class", o.TargetClass, "m"),
		set("edge-floor", o.EdgeFloor, "m"),
		set("adjust", string(o.Adjust), ""),
		set("certificate", o.Certificate, ""),
		set("pdf", o.PDF, ""),
		set("locale", string(o.ReportFormat.Locale), ""),
		set("report-units", o.ReportFormat.Unit.Symbol, ""),
		set("crs", o.CRS, ""),
		set("out-crs", o.OutCRS, ""),
		set("accept-ballpark", o.AcceptBallpark, ""),
		set("combined-factor", o.CombinedFactor, ""),
		set("unit", o.Unit.Symbol, ""),
		set("format", strings.Join(o.Formats, ","), ""),
		set("with-z", o.WithZ, ""),
		set("drawing", shownInDrawing(o.Drawing), ""),
		set("projected-geojson", o.ProjectedGeoJSON, ""),
		set("terrain", o.Terrain, ""),
		set("classified", o.Classified, ""),
		set("upgrade-format", o.UpgradeFormat, ""),
		set("nadir-image", o.NadirImage, ""),
		set("plates", o.Plates, ""),
		set("ortho", o.Ortho, ""),
		set("same-cloud", string(o.SameCloud), ""),
		set("deliver", joined(o.Deliver), ""),
		set("parts", string(o.Parts), ""),
		set("min-area", o.MinArea, "m2"),
		set("min-jog", o.MinJog, "m"),
		machine("workers", o.Workers, ""),
		machine("memory", o.Memory, "byte"),
		measured("density", m.Density, "1/m2"),
		measured("spacing", m.Spacing, "m"),
		measured("sigma_z", m.SigmaZ, "m"),
		measured("sigma", m.Sigma, "m"),
		measured("beam_half_width", m.Beam, "m"),
		measured("swath_disagreement", j.disagreement, "m"),
	}
}
