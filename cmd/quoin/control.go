package main

import (
	"fmt"
	"strings"

	"github.com/spf13/pflag"

	"quoin/extract"
	"quoin/vector"
	"quoin/vector/assess"
)

// controlFlags govern what is done with surveyed points.
type controlFlags struct {
	crs, unit, codes, layer string
	georeferencing, adjust  string
	sigma, sigmaUp          length
	target, floor           length
	ellipsoidal             bool
	ballpark, certificate   bool
}

func (f *controlFlags) define(flags *pflag.FlagSet) {
	f.defineSurvey(flags)
	flags.StringVar(&f.adjust, "adjust", "", "move the delivery to the points of role control: shift or similarity; none unless given")
	group(flags, "Control", "adjust")
	flags.BoolVar(&f.certificate, "certificate", false, "add a block for a licensed professional to the statement")
	group(flags, "Output", "certificate")
}

// defineSurvey defines the flags that have a meaning without a delivery.
func (f *controlFlags) defineSurvey(flags *pflag.FlagSet) {
	f.floor = assess.DefaultFloor
	flags.StringVar(&f.crs, "control-crs", "", "CRS of the surveyed points, as EPSG:25832, where it is not that of the buildings")
	flags.BoolVar(&f.ellipsoidal, "control-ellipsoidal", false, "surveyed elevations are heights above the ellipsoid, as satellite receivers give them; takes the vertical CRS of the buildings and its geoid model")
	flags.StringVar(&f.unit, "control-unit", "", "unit of the surveyed points, where it is not that of their CRS: m, ft or usft")
	flags.StringVar(&f.layer, "control-layer", "", "layer of surveyed points in a GeoPackage, where it has several")
	flags.StringVar(&f.codes, "codes", "", "file that says what a description stands for (lines like RC,roof corner)")
	flags.StringVar(&f.georeferencing, "used-in-georeferencing", "", "names of points that the cloud was fitted to before, separated by commas, or all: they do not test")
	flags.Var(&f.sigma, "control-sigma", "standard error of a surveyed easting or northing, where the file gives none; 0 for unknown")
	flags.Var(&f.sigmaUp, "control-sigma-up", "standard error of a surveyed elevation, where the file gives none; 0 for unknown")
	flags.Var(&f.target, "target-class", "horizontal RMSE that is asked for; 0 for none")
	flags.Var(&f.floor, "edge-floor", "standard error of where the edge of a roof is, on each axis")
	flags.BoolVar(&f.ballpark, "accept-ballpark", false, "accept transformations without knowledge of how the datums lie")
	group(flags, "Control", "control-crs", "control-ellipsoidal", "control-unit", "control-layer", "codes", "used-in-georeferencing", "control-sigma", "control-sigma-up", "target-class", "edge-floor")
	group(flags, "Coordinates", "accept-ballpark")
}

// apply turns the flags into options.
func (f *controlFlags) apply(o *extract.Options) error {
	var err error
	if f.unit != "" {
		if o.Survey.Unit, err = vector.ParseUnit(f.unit); err != nil {
			return &usageError{fmt.Errorf("--control-unit: %w", err)}
		}
	}
	if o.Adjust, err = assess.ParseMethod(f.adjust); err != nil {
		return &usageError{fmt.Errorf("--adjust: %w", err)}
	}
	o.Survey.CRS, o.Survey.Codes, o.Survey.Georeferencing = f.crs, f.codes, f.names()
	o.Survey.Layer, o.Survey.Ellipsoidal = f.layer, f.ellipsoidal
	o.Survey.SigmaH, o.Survey.SigmaU = float64(f.sigma), float64(f.sigmaUp)
	o.TargetClass, o.EdgeFloor = float64(f.target), float64(f.floor)
	o.AcceptBallpark, o.Certificate = f.ballpark, f.certificate
	return nil
}

// names returns the points used in georeferencing.
func (f *controlFlags) names() []string {
	var names []string
	for name := range strings.SplitSeq(f.georeferencing, ",") {
		if name = strings.TrimSpace(name); name != "" {
			names = append(names, name)
		}
	}
	return names
}
