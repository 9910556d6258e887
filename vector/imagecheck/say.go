package imagecheck

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/vector"
)

// Line states the shift of the block on one line, in the unit of the layer, in
// centimetres and in pixels.
func (r *Result) Line(unit vector.Unit) string {
	length := func(m Metres) float64 { return float64(m) / r.Unit }
	cm := func(m Metres) float64 { return 100 * float64(m) }
	px := func(m Metres) float64 { return float64(m / r.PixelM) }
	return fmt.Sprintf("shift dx %+.3f dy %+.3f ± %.3f %.3f %s (%+.1f %+.1f ± %.1f %.1f cm, %+.2f %+.2f ± %.2f %.2f pixels of %.1f cm)",
		length(r.East), length(r.North), length(r.SigmaEast), length(r.SigmaNorth), symbol(unit),
		cm(r.East), cm(r.North), cm(r.SigmaEast), cm(r.SigmaNorth),
		px(r.East), px(r.North), px(r.SigmaEast), px(r.SigmaNorth), cm(r.PixelM))
}

func symbol(u vector.Unit) string {
	if u.Symbol == "" {
		return "units"
	}
	return u.Symbol
}

// Sentences states the result in full, for a report.
func (r *Result) Sentences() []string {
	s := []string{
		fmt.Sprintf("Measured on %s of %s with pixels of %.1f cm: where the image shows edges beside where the layer has them.",
			counted(r.EdgesUsed, "edge"), counted(r.BuildingsUsed, "building"), 100*float64(r.PixelM)),
		r.independence(),
		fmt.Sprintf("Shift: %s east, %s north. A shift of %.1f cm would have been seen in 95 of 100 cases; edges were looked for within %.1f m.",
			centimetres(r.East, r.SigmaEast), centimetres(r.North, r.SigmaNorth), 100*float64(r.LeastShift), float64(r.Reach)),
	}
	if !math.IsNaN(float64(r.Size)) {
		s = append(s, fmt.Sprintf("Size: the image shows each side %s further out than the layer has it (from opposite sides, apart from the shift).", centimetres(r.Size, r.SigmaSize)))
	}
	if !math.IsNaN(float64(r.Rotation)) {
		s = append(s, fmt.Sprintf("Rotation %+.4f ± %.4f degrees counter-clockwise, scale %+.0f ± %.0f parts in a million.",
			deg(r.Rotation), deg(r.SigmaRotation), 1e6*float64(r.Scale), 1e6*float64(r.SigmaScale)))
	}
	s = append(s, fmt.Sprintf("Residual of an edge: %.1f cm (%.2f pixels).", 100*float64(r.Residual), float64(r.Residual/r.PixelM)), r.kind())
	return append(s, r.disagreements()...)
}

func deg(n Number) float64 { return float64(n) * 180 / math.Pi }

func centimetres(m, sigma Metres) string {
	return fmt.Sprintf("%+.1f ± %.1f cm", 100*float64(m), 100*float64(sigma))
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (r *Result) independence() string {
	switch r.SameCloud {
	case Independent:
		return "The image was made without the cloud, as stated by the user: an independent test of the edges."
	case Dependent:
		return "The image was rectified or coloured with the same cloud: no independent test. It shows that both go together, not that either is right."
	}
	return "Whether the image was rectified or coloured with the same cloud was not stated. If it was, this is no independent test."
}

func (r *Result) kind() string {
	l := r.Lean
	text := ""
	switch l.Verdict {
	case TrueOrtho:
		text = "True-ortho: " + l.Reason + fmt.Sprintf(" (lean %.1f ± %.1f cm per metre of height)", 100*float64(l.Slope), 100*float64(l.Sigma))
	case ReliefDisplacement:
		text = "No true-ortho, relief displacement: " + l.Reason + fmt.Sprintf(" (lean %.1f ± %.1f cm per metre of height, root mean square)", 100*float64(l.Slope), 100*float64(l.Sigma))
		if l.Nadir != nil {
			text += fmt.Sprintf(", as from a camera %.0f m above %.0f, %.0f", float64(l.Height), l.Nadir[0], l.Nadir[1])
		}
	default:
		text = "Whether it is a true-ortho remains open: " + l.Reason
	}
	if !math.IsNaN(float64(l.Least)) {
		text += fmt.Sprintf(". A lean of %.1f cm per metre would have been seen in 95 of 100 cases", 100*float64(l.Least))
	}
	return text + "."
}

// blame says in words what an agreement means.
func (a Agreement) blame() string {
	switch a {
	case ImageLean:
		return "the image is wrong, it shows them leaning"
	case ImageSeam:
		return "the image is wrong, a patch of it lies off"
	case ImageShadow:
		return "the image misleads, edges in the shadow disagree and sunlit ones do not"
	case FootprintEdge:
		return "one edge is off: the layer is wrong there, or the image shows nothing at the edge and something else beside it"
	case FootprintShift:
		return "the layer is wrong in place, or a patch of the image with no other building in it lies off"
	case FootprintSize:
		return "the layer is wrong in size"
	}
	return "too few edges seen"
}

// disagreements names the buildings that do not agree, by whose fault it is.
func (r *Result) disagreements() []string {
	by := map[Agreement][]string{}
	for _, b := range r.Buildings {
		by[b.Agreement] = append(by[b.Agreement], b.ID)
	}
	var out []string
	for _, a := range []Agreement{ImageLean, ImageSeam, ImageShadow, FootprintEdge, FootprintShift, FootprintSize, NotSeen} {
		ids := by[a]
		if len(ids) == 0 {
			continue
		}
		slices.Sort(ids)
		const most = 12
		text := strings.Join(ids[:min(len(ids), most)], ", ")
		if len(ids) > most {
			text += ", …"
		}
		out = append(out, fmt.Sprintf("%s: %s (%s).", upper(a.blame()), counted(len(ids), "building"), text))
	}
	if len(by[Agrees]) == len(r.Buildings) {
		out = append(out, "All buildings agree.")
	}
	return out
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
