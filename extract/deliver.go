package extract

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/formats"
	"quoin/vector/layer"
)

// bound returns the block's extent in CRS units.
func (j *job) bound() orb.Bound {
	b := j.block.Bounds()
	return orb.Bound{Min: j.block.Frame.ToCRS(b.MinX, b.MinY), Max: j.block.Frame.ToCRS(b.MaxX, b.MaxY)}
}

// write puts the delivery into files.
func (j *job) write(ctx context.Context) error {
	j.o.Progress.Start("write", 0)
	if j.delivery.Time.IsZero() {
		j.delivery.Time = time.Unix(0, 0).UTC()
	}
	if epoch, err := sourceDate(); err != nil {
		return err
	} else if !epoch.IsZero() {
		j.delivery.Time = epoch
	}
	j.delivery.CRS = j.crs
	j.delivery.CombinedFactor = j.o.CombinedFactor
	j.delivery.Lineage = j.lineage()
	layers, err := j.layers()
	if err != nil {
		return err
	}
	if err := j.writeFormats(ctx, layers); err != nil {
		return err
	}
	j.record.finish(j)
	if err := j.writeReport(ctx); err != nil {
		return err
	}
	err = atomicfile.Write(j.out.path(fileRecord), func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(&j.record)
	})
	if err != nil {
		return err
	}
	return formats.Describe(j.out.unfinished, layer.Of(layers), j.record.CRS.ToWGS84)
}

// writeFormats writes the layers in the formats that are asked for.
func (j *job) writeFormats(ctx context.Context, d vector.Delivery) error {
	list, err := formats.Parse(j.o.Formats)
	if err != nil {
		return &OptionError{fmt.Errorf("--format: %w", err)}
	}
	written, err := formats.Write(ctx, j.out.unfinished, layer.Of(d), formats.Options{
		Formats: list, WithZ: j.o.WithZ, ProjectedGeoJSON: j.o.ProjectedGeoJSON, AllowBallpark: j.o.AcceptBallpark, Middle: j.middle, Drawing: j.o.Drawing,
	})
	if err != nil {
		return err
	}
	for _, w := range written.Warnings {
		j.record.warn(j.o, w)
	}
	j.record.Notes = written.Notes
	if to := written.ToWGS84; to != nil {
		j.record.CRS.ToWGS84 = to.String()
		if a := to.Accuracy; !math.IsNaN(a) {
			j.record.CRS.Accuracy = &a
		}
	}
	return nil
}

// sourceDate returns the time that SOURCE_DATE_EPOCH sets; zero when it is not
// set. (Reproducible Builds, SOURCE_DATE_EPOCH specification 1.1.)
func sourceDate() (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		return time.Time{}, nil
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, &OptionError{fmt.Errorf("SOURCE_DATE_EPOCH is %q, which is no number of seconds", text)}
	}
	return time.Unix(seconds, 0).UTC(), nil
}

// lineage says where the delivery comes from. It holds nothing that changes
// from run to run on the same input.
func (j *job) lineage() string {
	m := j.cloud.Measures
	var b strings.Builder
	fmt.Fprintf(&b, "Roof edges extracted by quoin from %d lidar points in %d files (%s). ",
		j.record.Points.Kept, len(j.files), j.crs)
	fmt.Fprintf(&b, "Pulse density %.1f per square metre, spacing %.3f m, surface noise %.3f m. ", m.Density, m.Spacing, m.SigmaZ)
	b.WriteString("Outlines are roof edges seen from above, not walls, and no boundary survey. ")
	b.WriteString("Standard errors are relative to the cloud.")
	if len(j.delivery.Checks) == 0 {
		b.WriteString(" Not tested against surveyed points.")
	}
	return b.String()
}

func (r *Record) begin(o Options) {
	r.Program, r.Version, r.Schema = "quoin", o.Version, vector.SchemaVersion
	r.Warnings = []string{}
	r.folder = o.Out
}

// finish fills in what is known at the end.
func (r *Record) finish(j *job) {
	r.crs = j.crs
	before := r.CRS
	r.CRS = recordCRS(j.crs)
	r.CRS.ToWGS84, r.CRS.Accuracy, r.CRS.Layers = before.ToWGS84, before.Accuracy, before.Layers
	r.Parameters = j.parameters()
	r.Results = resultsOf(j.delivery)
	r.Attributes = j.attributes()
	for i := range j.block.Points {
		if j.roofs.of[i] >= 0 {
			r.Points.Roof++
		}
	}
}

func resultsOf(d vector.Delivery) Results {
	res := Results{Footprints: len(d.Footprints), Review: map[string]int{}, HeldBack: map[string]int{}}
	for _, f := range d.Footprints {
		for _, c := range f.Corners {
			if c.Kind != vector.Round {
				res.Corners++
			}
			if c.Kind == vector.Adjusted {
				res.Adjusted++
			}
		}
		for _, reason := range f.Review {
			res.Review[string(reason)]++
		}
	}
	for _, h := range d.HeldBack {
		res.HeldBack[string(h.Reason)]++
	}
	return res
}

// heldBack turns what the roof stage held back into the layer's features.
func heldBack(frame cloud.Frame, list []held) []vector.HeldBack {
	out := make([]vector.HeldBack, 0, len(list))
	for _, h := range list {
		area := frame.Horizontal * frame.Horizontal
		out = append(out, vector.HeldBack{
			Polygon: h.polygon, Reason: h.reason,
			Height: h.height / frame.Vertical, Area: h.area / area, PointCount: h.points,
		})
	}
	return out
}
