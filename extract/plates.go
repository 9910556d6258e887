package extract

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"quoin/extract/outline"
	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/plate"
)

// plateName is what the names of plates look like.
var plateName = regexp.MustCompile(`^(block|building-\d+-[a-z0-9]+|point-[\pL\pN._-]+)\.svg$`)

// writePlates draws the block, each building and each surveyed point. They
// appear when all are drawn; those of an earlier run that this one has not are
// removed.
func (j *job) writePlates(ctx context.Context) error {
	if j.o.Plates == "" {
		return nil
	}
	j.o.Progress.Start("plates", int64(1+len(j.delivery.Footprints)+len(j.delivery.Checks)))
	block, err := j.album.block(ctx)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(j.o.Plates, 0o755); err != nil {
		return fmt.Errorf("--plates: %w", err)
	}
	unfinished, err := os.MkdirTemp(j.o.Plates, ".unfinished-")
	if err != nil {
		return fmt.Errorf("--plates: %w", err)
	}
	defer os.RemoveAll(unfinished)
	var written []string
	p, err := j.newPlates(ctx, block, j.farthest(), j.delivery.Footprints)
	if err != nil {
		return err
	}
	err = p.each(ctx, func(name, content string) error {
		written = append(written, name)
		j.o.Progress.Add(1)
		return os.WriteFile(filepath.Join(unfinished, name), []byte(content), 0o666)
	})
	if err != nil {
		return err
	}
	return replacePlates(j.o.Plates, unfinished, written)
}

// replacePlates moves plates to where they belong and removes others.
func replacePlates(folder, unfinished string, written []string) error {
	entries, err := os.ReadDir(folder)
	for _, e := range entries {
		if plateName.MatchString(e.Name()) && !slices.Contains(written, e.Name()) {
			err = errors.Join(err, os.Remove(filepath.Join(folder, e.Name())))
		}
	}
	for _, name := range written {
		err = errors.Join(err, os.Rename(filepath.Join(unfinished, name), filepath.Join(folder, name)))
	}
	return err
}

// plates draws the plates of a job.
type plates struct {
	*job
	sheet plate.Sheet
	block picture
	// reach is how far from the edges, in metres, the places are shown that tell
	// of them.
	reach float64
}

// farthest is how far from edges such places are kept, in metres.
func (j *job) farthest() float64 { return max(1, 3*j.cloud.Measures.Spacing) }

// newPlates makes ready to draw the plates of the given footprints.
func (j *job) newPlates(ctx context.Context, block picture, reach float64, footprints []vector.Footprint) (*plates, error) {
	if err := j.collectMarks(ctx, footprints); err != nil {
		return nil, err
	}
	return &plates{job: j, block: block, sheet: plate.Sheet{CRS: j.crs, Source: block.source}, reach: reach}, nil
}

// collectMarks finds the places that tell where the edges of footprints are,
// unless it has. There are none once the delivery was moved off the cloud.
func (j *job) collectMarks(ctx context.Context, footprints []vector.Footprint) error {
	if j.o.Adjust != assess.NoAdjustment {
		return nil
	}
	if j.marks == nil {
		j.marks = make(map[string][]mark)
	}
	drawn := make(map[string]*drawing)
	for _, d := range j.drawn {
		drawn[d.footprint.ID] = d
	}
	missing := slices.DeleteFunc(slices.Clone(footprints), func(f vector.Footprint) bool {
		_, there := j.marks[f.ID]
		return there || drawn[f.ID] == nil
	})
	s := &surroundings{
		block: j.block, measures: j.cloud.Measures, path: j.cloud.Trajectory, roofOf: j.roofs.of, hag: j.hag,
	}
	found := make([][]mark, len(missing))
	err := each(ctx, j.o, len(missing), func(i int) error {
		found[i] = s.marks(drawn[missing[i].ID], missing[i], j.farthest())
		return nil
	})
	for i, f := range missing {
		j.marks[f.ID] = found[i]
	}
	return err
}

// A mark is a place that tells where an edge is, with its distance from it in
// metres.
type mark struct {
	plate.Mark
	distance float32
}

// marks returns the places that tell where a building's edges are, within reach
// of them.
func (s *surroundings) marks(d *drawing, f vector.Footprint, reach float64) []mark {
	edges := ledges(s.block.Frame, f.Polygon)
	var out []mark
	for _, o := range s.observe(d.number, d.shape) {
		if o.Side == outline.Unknown {
			continue
		}
		if distance := distanceFrom(edges, o.X, o.Y); distance <= reach {
			out = append(out, mark{plate.Mark{Point: s.block.Frame.ToCRS(o.X, o.Y), Inside: o.Side != outline.Outside}, float32(distance)})
		}
	}
	return out
}

// distanceFrom returns how far a place is from the nearest edge.
func distanceFrom(edges []ledge, x, y float64) float64 {
	nearest := math.Inf(1)
	for i := range edges {
		e := &edges[i]
		along, inward := e.at(x, y)
		beyond := max(-along, along-e.length, 0)
		nearest = min(nearest, inward*inward+beyond*beyond)
	}
	return math.Sqrt(nearest)
}

// near returns the marks of a footprint within reach of its edges.
func (p *plates) near(f vector.Footprint) []plate.Mark {
	var out []plate.Mark
	for _, m := range p.marks[f.ID] {
		if float64(m.distance) <= p.reach {
			out = append(out, m.Mark)
		}
	}
	return out
}

// each draws all plates, in the order of their places, so that pictures beside
// each other are drawn together.
func (p *plates) each(ctx context.Context, put func(name, content string) error) error {
	under := plate.Underlay{Image: p.block.image, Bound: p.block.bound}
	if err := put("block.svg", p.sheet.Block(plate.Block{Delivery: p.delivery, Under: under, Bound: p.block.bound})); err != nil {
		return err
	}
	numbers := make([]int, len(p.delivery.Footprints))
	for i := range numbers {
		numbers[i] = i
	}
	slices.SortFunc(numbers, func(a, b int) int {
		m, n := p.delivery.Footprints[a].Polygon.Bound().Center(), p.delivery.Footprints[b].Polygon.Bound().Center()
		return cmp.Or(cmp.Compare(math.Floor(m[1]/100), math.Floor(n[1]/100)), cmp.Compare(m[0], n[0]), cmp.Compare(a, b))
	})
	digits := len(fmt.Sprint(len(numbers)))
	for _, i := range numbers {
		b := p.building(i)
		picture, err := p.album.plate(ctx, p.sheet.BuildingBound(b.Footprint))
		if err != nil {
			return err
		}
		b.Under = plate.Underlay{Image: picture.image, Bound: picture.bound}
		if err := put(fmt.Sprintf("building-%0*d-%s.svg", digits, i+1, b.ID), p.sheet.Building(b)); err != nil {
			return err
		}
	}
	return p.points(ctx, put)
}

// points draws the plates of the surveyed points.
func (p *plates) points(ctx context.Context, put func(name, content string) error) error {
	names := make(map[string]int)
	for _, k := range p.delivery.Checks {
		c := p.corner(k)
		picture, err := p.album.plate(ctx, p.sheet.CornerBound(c))
		if err != nil {
			return err
		}
		c.Under = plate.Underlay{Image: picture.image, Bound: picture.bound}
		name := "point-" + fileName(k.ControlID)
		if names[name]++; names[name] > 1 {
			name = fmt.Sprintf("%s-%d", name, names[name])
		}
		if err := put(name+".svg", p.sheet.Corner(c)); err != nil {
			return err
		}
	}
	return nil
}

// corner returns what the plate of a surveyed point shows, but for the picture.
func (p *plates) corner(k vector.CornerCheck) plate.Corner {
	c := plate.Corner{CornerCheck: k, Footprints: p.delivery.Footprints}
	for _, f := range p.delivery.Footprints {
		if f.ID != k.BuildingID {
			continue
		}
		c.Marks = p.near(f)
		for v := range f.Corners {
			if f.Corners[v].Ring == k.Ring && f.Corners[v].Vertex == k.Vertex {
				c.Corner = &f.Corners[v]
			}
		}
	}
	bound := p.sheet.CornerBound(c)
	c.Marks = slices.DeleteFunc(c.Marks, func(m plate.Mark) bool { return !bound.Contains(m.Point) })
	return c
}

// fileName returns text as part of a file's name.
func fileName(s string) string {
	clean := strings.Map(func(r rune) rune {
		if plateName.MatchString("point-" + string(r) + ".svg") {
			return r
		}
		return '_'
	}, s)
	return cmp.Or(strings.Trim(clean, "."), "_")
}

// building returns what the plate of a footprint shows, but for the picture.
func (p *plates) building(i int) plate.Building {
	f := p.delivery.Footprints[i]
	b := plate.Building{Footprint: f, Number: i + 1, Checks: p.delivery.Checks, Marks: p.near(f), Seen: p.seenOf(f.ID)}
	bound := p.sheet.BuildingBound(f)
	for _, o := range p.delivery.Footprints {
		if o.Polygon.Bound().Intersects(bound) {
			b.Others = append(b.Others, o)
		}
	}
	return b
}
