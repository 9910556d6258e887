package extract

import (
	"context"
	"fmt"
	"math"
	"os"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
	"quoin/vector/crs"
	"quoin/vector/gdal"
	"quoin/vector/reproject"
	"quoin/vector/statement"
	"quoin/vector/survey"
)

// check compares the corners, and the ground, with surveyed points, and moves
// the delivery to control points where that is asked for.
func (j *job) check(context.Context) error {
	if j.o.Control == "" {
		return nil
	}
	points := j.surveyed
	checks := j.match(points.Points)
	var moved *assess.Adjustment
	if j.o.Adjust != assess.NoAdjustment {
		var err error
		if moved, err = assess.NewAdjustment(j.o.Adjust, checks); err != nil {
			return err
		}
		before := control.Stats(checks).Kept
		j.delivery = moved.Delivery(j.delivery)
		checks = j.match(points.Points)
		after := control.Stats(checks).Kept
		moved.Before, moved.After = &before, &after
	}
	j.delivery.Checks = checks
	a := assess.Assess(checks, j.delivery.Corners(), assess.Options{
		CRS: j.crs, Area: j.bound(), TargetClass: j.o.TargetClass, Floor: j.o.EdgeFloor, Footprints: j.delivery.Footprints,
	})
	a.Adjustment, a.Notes = moved, append(a.Notes, points.Notes...)
	j.delivery.Footprints = a.SetNetwork(j.delivery.Footprints)
	if moved != nil {
		for _, f := range moved.LeftOut {
			j.record.warn(j.o, fmt.Sprintf("nothing is adjusted to control point %s: %s", f.ControlID, f.Reason))
		}
		if moved.Worse() {
			j.record.warn(j.o, "the adjustment made the points that were held out worse: leave it out, or look at the control points")
		}
	}
	for _, s := range a.Suspects {
		j.record.warn(j.o, "control: "+s)
	}
	j.assessment, j.record.Checks, j.record.checked = &a, &a, &a.Result
	return nil
}

func (j *job) match(points []control.Point) []vector.CornerCheck {
	radius := j.o.MatchRadius / j.crs.Horizontal.Metres
	checks := control.Match(j.delivery.Corners(), points, radius)
	assess.CheckWalls(checks, points, j.delivery.Footprints, radius)
	assess.CheckGround(checks, j.groundAt)
	return checks
}

// inputsThere refuses files beside the cloud that do not exist, before any work
// is done.
func (o Options) inputsThere() error {
	for _, f := range []struct{ flag, path string }{
		{"control", o.Control}, {"codes", o.Survey.Codes}, {"ortho", o.Ortho},
	} {
		if f.path == "" {
			continue
		}
		if _, err := os.Stat(f.path); err != nil {
			return fmt.Errorf("--%s: %w", f.flag, err)
		}
	}
	return nil
}

// readOthers reads the surveyed points, brings them to the CRS of the cloud,
// and makes sure that the image can be opened and that the layers can be taken
// to the CRS asked for, before the long work.
func (j *job) readOthers(context.Context) error {
	if err := j.tryOutCRS(); err != nil {
		return err
	}
	if j.o.Ortho != "" {
		image, err := gdal.OpenRaster(j.o.Ortho)
		if err != nil {
			return fmt.Errorf("--ortho: %w", err)
		}
		if err := image.Close(); err != nil {
			return err
		}
	}
	if j.o.Control == "" {
		return nil
	}
	var err error
	j.surveyed, err = ReadSurvey(j.o, j.bound(), j.crs)
	for _, w := range j.surveyed.Warnings {
		j.record.warn(j.o, w)
	}
	return err
}

// ReadSurvey returns the surveyed points that the options name, in the CRS and
// units of a block. A CRS that does not exist is an *OptionError.
func ReadSurvey(o Options, block orb.Bound, c vector.CRS) (survey.Survey, error) {
	s := survey.Options{
		Block: block, CRS: c, Unit: o.Survey.Unit, Layer: o.Survey.Layer, Ellipsoidal: o.Survey.Ellipsoidal, Georeferencing: o.Survey.Georeferencing,
		SigmaH: o.Survey.SigmaH, SigmaU: o.Survey.SigmaU, AllowBallpark: o.AcceptBallpark,
	}
	var err error
	if o.Survey.CRS != "" {
		if s.ControlCRS, err = crs.Parse(o.Survey.CRS); err != nil {
			return survey.Survey{}, &OptionError{fmt.Errorf("--control-crs: %w", err)}
		}
	}
	if o.Survey.Codes != "" {
		if s.Codes, err = control.ReadCodes(o.Survey.Codes); err != nil {
			return survey.Survey{}, err
		}
	}
	return survey.Read(o.Control, s)
}

// groundAt returns the elevation of the terrain at a position in the CRS, where
// ground was seen there.
func (j *job) groundAt(p orb.Point) (float64, bool) {
	x, y := j.block.Frame.FromCRS(p)
	if i, ok := j.terrain.Index(x, y); !ok || j.filled.Values[i] {
		return 0, false
	}
	z := cloud.Bilinear(j.terrain, x, y) / j.block.Frame.Vertical
	return z, !math.IsNaN(z)
}

// tryOutCRS takes nothing to the CRS of the layers: it fails as layers will.
func (j *job) tryOutCRS() error {
	if j.o.OutCRS == "" {
		return nil
	}
	to, err := crs.Parse(j.o.OutCRS)
	if err != nil {
		return &OptionError{fmt.Errorf("--out-crs: %w", err)}
	}
	_, _, err = reproject.Delivery(vector.Delivery{CRS: j.crs}, to, j.bound().Center(), reproject.Options{AllowBallpark: j.o.AcceptBallpark})
	return err
}

// layers returns the delivery as it is written: in the CRS that is asked for,
// with its metadata.
func (j *job) layers() (vector.Delivery, error) {
	d := j.delivery
	j.middle = j.bound().Center()
	if j.o.OutCRS != "" {
		to, err := crs.Parse(j.o.OutCRS)
		if err != nil {
			return d, &OptionError{fmt.Errorf("--out-crs: %w", err)}
		}
		moved, operation, err := reproject.Delivery(d, to, j.middle, reproject.Options{AllowBallpark: j.o.AcceptBallpark})
		if err != nil {
			return d, err
		}
		if j.middle, err = reproject.Point(d.CRS, to, j.middle); err != nil {
			return d, err
		}
		d = moved
		j.layersCRS = fmt.Sprintf("%s (%s), taken there by %s", to, to.Name, operation)
		j.delivery.Lineage += " Layers in " + j.layersCRS + "."
		d.Lineage = j.delivery.Lineage
		j.record.CRS.Layers = j.layersCRS
		j.tell(to, operation)
	}
	d.Metadata = []vector.Metadata{statement.Metadata(j.statement(d))}
	return d, statement.Write(j.out.path(fileStatement), j.statement(d))
}

// tell warns of what limits a transformation.
func (j *job) tell(to vector.CRS, o crs.Operation) {
	switch {
	case o.Ballpark:
		j.record.warn(j.o, fmt.Sprintf("the layers in %s may be off by hundreds of metres: nothing is known of how the datums lie", to))
	case o.Null:
		j.record.warn(j.o, fmt.Sprintf("%s is taken for the same as %s: the layers in %s may be off by a metre or two", o.From, o.To, to))
	}
	if o.Better != "" {
		j.record.warn(j.o, o.Better)
	}
}

// statement is what the accuracy statement is about: d is the delivery as it is
// written, figures are in the CRS of the cloud.
func (j *job) statement(d vector.Delivery) statement.Content {
	c := statement.Content{
		Delivery: d, CRS: j.crs, LayersCRS: j.layersCRS, Assessment: j.assessment, Certificate: j.o.Certificate, Version: j.o.Version,
		Internal: []string{fmt.Sprintf("Swaths put the edges of roofs apart by a standard deviation of %.3f m, beyond sampling and noise; points scatter about smooth surfaces by %.3f m.", j.disagreement, j.cloud.Measures.SigmaZ)},
	}
	if j.image != nil {
		c.Image = j.image.Sentences()
	}
	if j.assessment != nil {
		j.record.brief = statement.Brief(j.assessment, c)
	}
	return c
}
