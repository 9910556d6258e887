package extract

import (
	"errors"
	"fmt"
	"log/slog"
	"math"
	"runtime"
	"strings"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/dxf"
	"quoin/vector/formats"
	"quoin/vector/gdal"
	"quoin/vector/imagecheck"
	"quoin/vector/report"
)

// Options govern a run. Lengths are metres.
type Options struct {
	// Inputs are the paths of the cloud's files, read as one block.
	Inputs []string
	// Out is the folder the delivery is left in; it is made if missing.
	Out string
	// Control is the path of the surveyed points; empty for none. Survey says
	// what their file leaves out.
	Control string
	Survey  SurveyOptions
	// TargetClass is the RMSE_H that is asked for; 0 for none.
	TargetClass float64
	// EdgeFloor is the standard error of where the edge of a roof is.
	EdgeFloor float64
	// Adjust moves the delivery to the control points.
	Adjust assess.Method
	// Certificate adds a professional's block to the statement and the report.
	Certificate bool
	// PDF prints the report to a file as well.
	PDF bool
	// ReportFormat is how numbers of the report are written.
	ReportFormat report.Format
	// OutCRS is the CRS of the layers, as "EPSG:25832"; empty for that of the
	// cloud.
	OutCRS string
	// AcceptBallpark accepts transformations without knowledge of how datums
	// lie.
	AcceptBallpark bool
	// CombinedFactor takes ground lengths to grid lengths; 0 for none.
	CombinedFactor float64
	// MatchRadius is how far a surveyed point may lie from the corner it is
	// matched to.
	MatchRadius float64
	// CRS overrides what the files say, as "EPSG:25832"; empty to believe
	// them.
	CRS string
	// Unit is the linear unit where the files name none.
	Unit vector.Unit
	// Formats are the names of the formats of the layers, as package formats
	// has them.
	Formats []string
	// WithZ puts elevations into the geometries of the layers.
	WithZ bool
	// Drawing says what the DXF shows beside outlines and corners.
	Drawing dxf.Options
	// ProjectedGeoJSON adds a GeoJSON file in the CRS of the cloud.
	ProjectedGeoJSON bool
	// Terrain adds rasters of the terrain and of where it is interpolated.
	Terrain bool
	// Classified is the path of a LAS or LAZ file that is written with every
	// input point and its class; empty for none.
	Classified string
	// UpgradeFormat writes it in a point format that has classes 17 and 18
	// where the inputs' has not.
	UpgradeFormat bool
	// NadirImage is the path of a GeoTIFF that is written with the cloud seen from
	// above; empty for none.
	NadirImage string
	// Plates is the folder that plates are left in; empty for none.
	Plates string
	// Ortho is the path of an image of the block; empty for none.
	Ortho string
	// SameCloud says whether it was rectified or coloured with this cloud.
	SameCloud imagecheck.Dependence
	// Deliver are reasons for holding back, vehicle-like and tent-like, that
	// become reasons for a look.
	Deliver []vector.Reason
	// Parts says what becomes of a lower part that is built onto a building.
	Parts PartRule
	// MinArea is the smallest footprint delivered, in square metres.
	MinArea float64
	// MinJog is the smallest step of an outline that is drawn.
	MinJog float64
	// Workers is the number of units or buildings worked on at once.
	Workers int
	// Memory is the number of bytes that the run may use. A block that needs more
	// is kept on disk, in Out.
	Memory int64

	// Version is the program's, for the record.
	Version string
	// Given tells which parameters the user set, by their names in the
	// record.
	Given map[string]bool
	// Log receives what happens; Progress is told how far a stage is. Both
	// must be set; see Silent.
	Log      *slog.Logger
	Progress Progress

	keeper *keeper // set by Run
}

// A PartRule says what becomes of a lower part that is built onto a building, as
// a garage or the wing of a hall.
type PartRule string

// The rules: one footprint for the whole building, or one for each part.
const (
	MergeParts PartRule = "merge"
	SplitParts PartRule = "split"
)

// SurveyOptions say of surveyed points what their file leaves out.
type SurveyOptions struct {
	// CRS is that of the points, as "EPSG:25832"; empty for that of their
	// file, or of the cloud.
	CRS string
	// Ellipsoidal says that their elevations are heights above the ellipsoid.
	Ellipsoidal bool
	// Unit is that of their coordinates, where it is not the CRS's.
	Unit vector.Unit
	// Layer is that of the points in a GeoPackage; empty for the only one.
	Layer string
	// Codes is the path of a code list; empty for the default one.
	Codes string
	// Georeferencing names the points that the cloud was fitted to before, or
	// is "all".
	Georeferencing []string
	// SigmaH and SigmaU are standard errors of each horizontal axis and of the
	// elevation, of points whose file gives none; 0 for unknown.
	SigmaH, SigmaU float64
}

// DefaultOptions returns the options of a run that says nothing but its
// inputs and its output.
func DefaultOptions() Options {
	return Options{
		Formats:     strings.Split(formats.Names(formats.Default()), ","),
		EdgeFloor:   assess.DefaultFloor,
		MatchRadius: 1, // a corner's own error and a survey blunder, but not the next corner
		Parts:       MergeParts,
		MinArea:     6, // the smallest garden shed that planners ask for
		MinJog:      0.2,
		SameCloud:   imagecheck.Unknown,
		Workers:     runtime.GOMAXPROCS(0),
		Memory:      halfOfMemory(),
		Log:         slog.New(slog.DiscardHandler),
		Progress:    Silent{},
	}
}

// An OptionError says which options can't be used; it is a mistake in how the
// program was called.
type OptionError struct{ err error }

func (e *OptionError) Error() string { return e.err.Error() }

func (e *OptionError) Unwrap() error { return e.err }

// Validate returns an *OptionError that names everything wrong, or nil.
func (o Options) Validate() error {
	var wrong []error
	check := func(ok bool, format string, args ...any) {
		if !ok {
			wrong = append(wrong, fmt.Errorf(format, args...))
		}
	}
	check(len(o.Inputs) > 0, "no point-cloud file given")
	check(o.Out != "", "no output folder given: name one with --out")
	check(o.MatchRadius > 0, "--match-radius must be above zero")
	check(o.TargetClass >= 0, "--target-class must not be negative")
	check(o.Adjust == assess.NoAdjustment || o.Control != "", "--adjust needs surveyed points: give them with --control")
	check(o.CombinedFactor == 0 || math.Abs(o.CombinedFactor-1) < 0.01, "--combined-factor is %v: it lies close to 1, as 0.99957", o.CombinedFactor)
	check(o.MinArea >= 1, "--min-area must be at least 1 m²")
	check(o.Parts == MergeParts || o.Parts == SplitParts, "--parts knows merge and split, not %q", o.Parts)
	check(o.MinJog >= 0, "--min-jog must not be negative")
	check(o.Workers > 0, "--workers must be at least 1")
	check(o.Memory > 0, "--memory must be above zero")
	check(!o.Terrain || gdal.Built, "--terrain needs the GDAL library, which this program was built without")
	check(!o.UpgradeFormat || o.Classified != "", "--upgrade-format is for --classified, which is not given")
	for _, r := range o.Deliver {
		check(r == vector.ReviewVehicleLike || r == vector.ReviewTentLike, "--deliver knows %s and %s, not %q", vector.ReviewVehicleLike, vector.ReviewTentLike, r)
	}
	if _, err := formats.Parse(o.Formats); err != nil {
		wrong = append(wrong, fmt.Errorf("--format: %w", err))
	}
	if o.PDF {
		_, err := report.Browser()
		check(err == nil, "--pdf: %v", err)
	}
	if err := o.checkClassified(); err != nil {
		wrong = append(wrong, err)
	}
	if err := o.checkImages(); err != nil {
		wrong = append(wrong, err)
	}
	if len(wrong) > 0 {
		return &OptionError{errors.Join(wrong...)}
	}
	return nil
}

// Progress is told how far a stage of the run is.
type Progress interface {
	// Start begins a stage of so many steps; 0 when their number is unknown.
	Start(stage string, steps int64)
	// Add counts steps; it may be called from any goroutine.
	Add(steps int64)
	// Done ends the stage.
	Done()
}

// Silent is the progress that nobody looks at.
type Silent struct{}

// Start does nothing.
func (Silent) Start(string, int64) {}

// Add does nothing.
func (Silent) Add(int64) {}

// Done does nothing.
func (Silent) Done() {}
