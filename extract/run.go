package extract

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/extract/classify"
	"quoin/extract/cloud"
	"quoin/extract/swath"
	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/imagecheck"
	"quoin/vector/scratch"
	"quoin/vector/survey"
)

// A job is one run on its way.
type job struct {
	o       Options
	out     *output
	record  Record
	files   []file
	crs     vector.CRS
	store   *scratch.Store // for a block that does not fit into memory
	block   *cloud.Block
	cloud   swath.Result
	terrain *cloud.Raster[float32]
	filled  *cloud.Raster[bool] // where the terrain is only interpolated
	hag     []float32
	// isGround and points are kept for the classified cloud only.
	isGround []bool
	points   []classify.Evidence
	roofs    roofs
	surveyed survey.Survey // empty without surveyed points
	drawn    []*drawing
	// disagreement is the standard deviation of where one swath puts an edge,
	// beyond sampling and noise, in metres.
	disagreement float64
	delivery     vector.Delivery
	album        *album
	marks        map[string][]mark // by the name of the building
	// assessment is nil without surveyed points.
	assessment *assess.Assessment
	// image is nil without an orthophoto on which the footprints are seen.
	image *imagecheck.Result
	// layersCRS says where the layers are when not in the cloud's CRS, and
	// middle is that of the block in the CRS of the layers.
	layersCRS string
	middle    orb.Point
}

// Run does the whole job and returns its record. The delivery is in o.Out
// when it returns without an error, and nothing of it is otherwise.
//
// Errors are *OptionError for wrong options, those of the readers and writers
// with the name of the file, and the context's when it was cancelled.
func Run(ctx context.Context, o Options) (*Record, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	if err := o.inputsThere(); err != nil {
		return nil, err
	}
	j := &job{o: o}
	j.record.begin(o)
	var err error
	if j.out, err = openOutput(o.Out); err != nil {
		return nil, err
	}
	defer j.out.discard()
	j.store = scratch.Open(j.out.unfinished)
	defer j.store.Close()
	defer func() { j.o.keeper.end() }()
	defer func() { j.album.close() }()
	for _, s := range []struct {
		name string
		work func(context.Context) error
	}{
		{"read", j.read},
		{"other inputs", j.readOthers},
		{"measure", j.measure},
		{"images", func(context.Context) error { return j.openAlbum() }},
		{"ground", j.ground},
		{"roofs", j.findRoofs},
		{"outlines", j.outlines},
		{"checks", j.check},
		{"image check", j.checkImage},
		{"classified", j.classified},
		{"terrain", j.writeTerrain},
		{"nadir image", j.nadirImage},
		{"plates", j.writePlates},
		{"write", j.write},
	} {
		if err := j.record.timed(o, s.name, func() error { return s.work(ctx) }); err != nil {
			return nil, err
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
	}
	return &j.record, j.out.finish()
}

func (j *job) read(ctx context.Context) error {
	var err error
	j.o.Progress.Start("open", int64(len(j.o.Inputs)))
	if j.files, err = openAll(ctx, j.o, &j.record); err != nil {
		return err
	}
	if j.crs, err = agree(j.files, j.o, &j.record); err != nil {
		return err
	}
	sources := make([]cloud.Source, len(j.files))
	var total uint64
	for i, f := range j.files {
		sources[i] = f
		total += f.Info().Count
		if c := f.Info().Created; c.After(j.delivery.Time) {
			j.delivery.Time = c
		}
	}
	j.o.Progress.Done()
	if total > uint64(j.o.Memory/cloud.BytesPerPoint) {
		if err := j.checkDisk(total); err != nil {
			return err
		}
		j.o.keeper = keep(j.store, j.o.Memory)
	}
	j.o.Progress.Start("read", int64(total))
	var census cloud.Census
	j.block, census, err = cloud.Load(ctx, sources, j.crs, cloud.LoadOptions{
		Workers: j.o.Workers, Memory: j.o.Memory, Store: j.store,
		Progress: func(n int) { j.o.Progress.Add(int64(n)) },
	})
	j.record.Points.Census = census
	if err != nil {
		return err
	}
	if j.block.Store != nil {
		j.o.Log.Info("the block is kept on disk", "GiB", round(float64(j.store.Bytes())/(1<<30), 1))
	}
	if census.Stray > 0 {
		j.record.warn(j.o, fmt.Sprintf("%d points far away from all others were left out", census.Stray))
	}
	if census.Doubted > 0 {
		j.record.warn(j.o, fmt.Sprintf("%d points are classed as noise (7, 18), but are surfaces or too many for noise: they were used", census.Doubted))
	}
	if census.Invalid > 0 {
		j.record.warn(j.o, fmt.Sprintf("%d points whose coordinates are no numbers were left out", census.Invalid))
	}
	return nil
}

// sparse is the density, in pulses per square metre, below which houses can't
// be told from trees reliably: quality level 2 of the USGS Lidar Base
// Specification asks for as much (from memory).
const sparse = 2

func (j *job) measure(context.Context) error {
	j.o.Progress.Start("measure", 0)
	j.cloud = swath.Measure(j.block, j.o.Workers)
	m := j.cloud.Measures
	j.o.Log.Info("measured", "pulses/m2", round(m.Density, 2), "spacing_m", round(m.Spacing, 3), "sigma_z_m", round(m.SigmaZ, 4))
	if m.Density < sparse {
		j.record.warn(j.o, fmt.Sprintf("the cloud has %.1f pulses a square metre: below %d, small buildings are missed and corners are coarse", m.Density, sparse))
	}
	j.record.Cloud = j.cloud.Report
	j.judgeSwaths()
	return nil
}

// swathStep and turnShare are what users are warned of: two swaths that lie
// further apart in height than the USGS Lidar Base Specification allows for
// quality level 2 (0.08 m, from memory), or apart in plan by as much, and a
// cloud of which more than a twentieth was measured in turns.
const (
	swathStep = 0.08
	turnShare = 0.05
)

// judgeSwaths warns where the cloud is not fit for good corners.
func (j *job) judgeSwaths() {
	apart, worst := 0, 0.0
	pairs := j.cloud.Report.Pairs
	for _, p := range pairs {
		d := math.Abs(p.DZ)
		if p.Horizontal {
			d = max(d, math.Hypot(p.DE, p.DN))
		}
		if p.Shifted && d > swathStep {
			apart++
			worst = max(worst, d)
		}
	}
	if apart > 0 {
		j.record.warn(j.o, fmt.Sprintf("%d of %d pairs of swaths do not agree, by up to %.2f m: adjust the swaths before corners are relied on", apart, len(pairs), worst))
	}
	if share := j.cloud.Report.Turning; share > turnShare {
		j.record.warn(j.o, fmt.Sprintf("%.0f %% of the points were measured in turns, where positions are worse: they are left out at roofs that are seen well enough without", 100*share))
	}
}

func round(v float64, digits int) string { return fmt.Sprintf("%.*f", digits, v) }
