package scene

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// describe writes the README of the truth: the flight, the errors that were
// put in, and the form of the files.
func (s *Scene) describe(w io.Writer, sum Summary) error {
	out := bufio.NewWriter(w)
	line := func(format string, a ...any) { fmt.Fprintf(out, format+"\n", a...) }
	p, sc := s.Plan, s.Plan.Scanner
	e := sc.Errors
	size := s.High.Sub(s.Low)
	line("%s, block %q, seed %d", Place, s.Spec.Composite, s.Spec.Seed)
	line("")
	line("The place is invented: its coordinates are open sea. Everything here was")
	line("simulated; no real building, person or survey is shown.")
	line("")
	line("Block      %.0f x %.0f m, %d buildings, %d other things", size.X, size.Y, len(s.Buildings), len(s.Things))
	line("CRS        %s (%s), unit %s", s.datum.crs.Name, s.datum.crs, s.Spec.Unit.Name)
	line("Scanner    %s, %.0f kHz in a field of view of %.0f degrees, %.1f sweeps a second",
		sc.Kind, p.PulseRate/1e3, sc.FieldOfView*180/math.Pi, p.ScanRate)
	line("Flight     %d lines %.1f m apart, %.0f m above ground, %.1f m/s, %.0f %% overlap, swath %.0f m",
		len(p.Lines), p.Spacing, sc.Height, p.Speed, 100*sc.Overlap, sc.Swath())
	line("Density    planned %.1f pulses/m2 (spacing %.3f m)", p.Density, 1/math.Sqrt(p.Density))
	line("Written    %d points of %d pulses", sum.Points, sum.Pulses)
	line("")
	line("Errors put in (standard deviations)")
	line("  range %.1f cm; beam direction %.4f degrees a pulse", 100*e.Range, e.Angle*180/math.Pi)
	line("  roll %.4f, pitch %.4f, heading %.4f degrees over %.0f s", e.Roll*180/math.Pi, e.Pitch*180/math.Pi, e.Heading*180/math.Pi, e.Tau)
	line("  swath offset %.1f cm an axis, drift %.1f cm over %.0f s, times %.0f in turns", 100*e.Offset, 100*e.Drift, e.DriftTau, e.Turn)
	f := sc.Footprint()
	line("  beam on the ground at nadir %.1f cm along by %.1f cm across the track (1/e2 diameters)", 100*f[0], 100*f[1])
	line("  survey %.1f cm an axis; points with a blunder: %s", 100*surveyNoise, s.blunderList())
	line("")
	if s.Spec.Ortho != nil {
		line("ortho.json          the errors of ../ortho.tif: where it shows things beside where they are")
	}
	line("footprints.geojson  roof edges seen from above, eaves and gutter lip included;")
	line("                    wall_line, heights, and what of each side is seen from above")
	line("held.geojson        what stands above the ground and is no building")
	line("classes/*.bin       a byte a point, in the order of the cloud file of that name:")
	line("                    ASPRS classes to 63; 64 facade, 65 plant on a roof, 66 vehicle,")
	line("                    67 fence or wall, 68 tent, 69 stockpile, 70 balcony, 71 pool,")
	line("                    72 other")
	line("docs/scene.md in the project says how all this is made.")
	return out.Flush()
}

// blunderList names the control points with a gross error.
func (s *Scene) blunderList() string {
	bad := s.blunders()
	text := ""
	for i := range s.marks() {
		if bad[i] {
			text += fmt.Sprintf("%d ", firstMark+i)
		}
	}
	if text == "" {
		return "none"
	}
	return text
}
