package flight

import (
	"context"
	"math"
	"reflect"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/scene/solid"
)

var (
	lawn  = solid.Surface{Class: solid.Terrain, Reflectance: 128}
	tiles = solid.Surface{Class: solid.Roof, Reflectance: 128}
)

// plain returns level ground at z = 20 with bodies on it.
func plain(bodies ...solid.Body) *solid.World {
	ground := solid.GridOf([2]solid.Point{{X: -90, Y: -90}, {X: 90, Y: 90}}, 1,
		func(solid.Point) float64 { return 20 }, func(solid.Point) solid.Surface { return lawn })
	return solid.NewWorld(ground, bodies)
}

// exact returns a scanner without errors, wobble or outliers, and a beam
// without width.
func exact(t *testing.T, kind Kind) Scanner {
	t.Helper()
	s, err := Preset(kind)
	if err != nil {
		t.Fatal(err)
	}
	s.Errors = Errors{Tau: 1, DriftTau: 1, Turn: 1}
	s.Wobble, s.LowRate, s.TopRate = 0, 0, 0
	s.Divergence = [2]float64{}
	return s
}

func target(density float64) Target {
	return Target{
		Low: solid.Point{X: -40, Y: -40}, High: solid.Point{X: 40, Y: 40}, Ground: 20, Density: density, Heading: 0.1,
	}
}

// scan flies all lines and returns their points.
func scan(t *testing.T, w *solid.World, s Scanner, at Target, workers int) (*Plan, *cloud.Batch) {
	t.Helper()
	p, err := MakePlan(s, at)
	if err != nil {
		t.Fatal(err)
	}
	return p, record(t, w, p, workers)
}

func record(t *testing.T, w *solid.World, p *Plan, workers int) *cloud.Batch {
	t.Helper()
	all := &cloud.Batch{}
	take := func(b *cloud.Batch) error {
		all.X, all.Y, all.Z = append(all.X, b.X...), append(all.Y, b.Y...), append(all.Z, b.Z...)
		all.Time, all.Class = append(all.Time, b.Time...), append(all.Class, b.Class...)
		all.Return, all.Returns = append(all.Return, b.Return...), append(all.Returns, b.Returns...)
		all.ScanAngle, all.Source = append(all.ScanAngle, b.ScanAngle...), append(all.Source, b.Source...)
		all.Flags, all.Red = append(all.Flags, b.Flags...), append(all.Red, b.Red...)
		return nil
	}
	for _, l := range p.Lines {
		if err := Fly(context.Background(), w, p, l, Options{Seed: 3, Workers: workers, Take: take}); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

// moments returns the mean and the standard deviation.
func moments(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x
	}
	mean /= float64(len(v))
	for _, x := range v {
		sd += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(sd / float64(len(v)))
}

func TestExactScannerIsExact(t *testing.T) {
	for _, kind := range Kinds() {
		_, b := scan(t, plain(), exact(t, kind), target(4), 2)
		if b.Len() < 10000 {
			t.Fatalf("%s: only %d points", kind, b.Len())
		}
		for i, z := range b.Z {
			if math.Abs(z-20) > 1e-6 {
				t.Fatalf("%s: point %d at z = %.7f, want 20", kind, i, z)
			}
		}
	}
}

// The planned density is met in the mean over the block, for every family.
func TestDensityIsAsPlanned(t *testing.T) {
	for _, kind := range Kinds() {
		for _, density := range []float64{4, 20} {
			at := target(density)
			at.CrossLines = 1
			p, b := scan(t, plain(), exact(t, kind), at, 2)
			got := float64(b.Len()) / 6400
			if math.Abs(got/density-1) > 0.08 {
				t.Errorf("%s: %.2f pulses/m², planned %.2f (%d lines)", kind, got, density, len(p.Lines))
			}
		}
	}
}

// Only range noise: on level ground z is off by it times the cosine of the
// angle from nadir.
func TestRangeNoiseIsRecovered(t *testing.T) {
	s := exact(t, LineScanner)
	s.Errors.Range = 0.03
	_, b := scan(t, plain(), s, target(10), 2)
	var off []float64
	for i, z := range b.Z {
		off = append(off, (z-20)/math.Cos(float64(b.ScanAngle[i])*degree))
	}
	mean, sd := moments(off)
	n := math.Sqrt(float64(len(off)))
	if math.Abs(mean) > 5*0.03/n || math.Abs(sd-0.03) > 5*0.03/n {
		t.Errorf("range noise has mean %.5f and deviation %.5f m, want 0 and 0.03", mean, sd)
	}
}

// Only the offset of the swath: all points of a line are off by one shift.
func TestSwathOffsetIsConstant(t *testing.T) {
	s := exact(t, LineScanner)
	s.Errors.Offset = 0.05
	p, b := scan(t, plain(), s, target(4), 2)
	for _, l := range p.Lines {
		want := newTrack(p, l, 3).offset.Z
		if want == 0 {
			t.Fatal("no offset was drawn")
		}
		for i, z := range b.Z {
			if b.Source[i] == l.Source && math.Abs(z-20-want) > 1e-6 {
				t.Fatalf("line %d: z is off by %.5f, want %.5f", l.Source, z-20, want)
			}
		}
	}
}

// A Gauss-Markov process has its deviation, and falls to 1/e over its time.
func TestWander(t *testing.T) {
	const sigma, tau = 0.02, 5.0
	var values, product []float64
	for i := range 300 {
		s := exact(t, LineScanner)
		s.Errors.Roll, s.Errors.Tau = sigma, tau
		p, err := MakePlan(s, target(4))
		if err != nil {
			t.Fatal(err)
		}
		w := newTrack(p, p.Lines[0], uint64(i)).tilt[0]
		values = append(values, w.at(1))
		product = append(product, w.at(1)*w.at(1+tau))
	}
	if _, sd := moments(values); math.Abs(sd/sigma-1) > 0.2 { // five standard errors of 300
		t.Errorf("deviation %.4f, want %.4f", sd, sigma)
	}
	if mean, _ := moments(product); math.Abs(mean/sigma/sigma-math.Exp(-1)) > 0.3 {
		t.Errorf("after tau the correlation is %.3f, want %.3f", mean/sigma/sigma, math.Exp(-1))
	}
}

// A roll error of ε moves the ground by H·tan ε across the track: 0.03° at
// 45.72 m is 2.4 cm (worked by hand).
func TestAttitudeErrorMovesTheGround(t *testing.T) {
	s := exact(t, LineScanner)
	s.Height = 45.72
	p, err := MakePlan(s, target(4))
	if err != nil {
		t.Fatal(err)
	}
	track := newTrack(p, p.Lines[0], 1)
	track.tilt[0] = wander{step: 1, values: []float64{0.03 * degree, 0.03 * degree}}
	flown := track.flown(1)
	a, b := pointing(flown, 0, 0), pointing(track.believed(flown, 1), 0, 0)
	ground := func(d solid.Vec) solid.Vec { return flown.at.Add(d.Scale(45.72 / -d.Z)) }
	if got := ground(a).Sub(ground(b)).Length(); math.Abs(got-0.0239) > 0.0002 {
		t.Errorf("the ground moves by %.4f m, want 0.0239", got)
	}
}

// Over a straight roof edge parallel to nothing, a beam of radius r at the
// roof sees both levels while its axis is within the outer ring of rays, 0.9 r:
// no roof point lies further out, and pulses with two returns lie in a strip
// that wide to both sides.
func TestBeamWidensTheEdge(t *testing.T) {
	s := exact(t, LineScanner)
	s.Divergence = [2]float64{0.004, 0.004}
	s.FieldOfView = 20 * degree
	s.Threshold = 0.001
	body := solid.Block(solid.Rectangle(solid.Point{}, 30, 30, 0.5), 19, 26, tiles)
	p, b := scan(t, plain(body), s, target(60), 2)
	radius := 0.002 * (s.Height - 6) // on the roof, at nadir
	n := solid.Point{X: math.Cos(0.5), Y: math.Sin(0.5)}
	side := solid.Point{X: -n.Y, Y: n.X}
	outermost, splits := 0.0, 0
	for i := range b.X {
		q := solid.Point{X: b.X[i], Y: b.Y[i]}
		out := q.Dot(n) - 15
		if math.Abs(q.Dot(side)) > 14 || math.Abs(out) > 1 || b.Return[i] != 1 || b.Z[i] < 25 {
			continue
		}
		outermost = math.Max(outermost, out)
		if b.Returns[i] > 1 { // the wall may give one of its own
			splits++
			if math.Abs(out) > 0.93*radius {
				t.Fatalf("a pulse %.3f m from the edge is split; the beam's radius is %.3f", out, radius)
			}
		}
	}
	if outermost < 0.8*radius || outermost > 0.93*radius {
		t.Errorf("roof points reach %.4f m beyond the edge, want near %.4f", outermost, 0.9*radius)
	}
	want := 28 * 2 * 0.87 * radius * p.Density // the strip, less what turned rays miss
	if got := float64(splits); math.Abs(got/want-1) > 0.15 {
		t.Errorf("%v split pulses, want about %.0f", got, want)
	}
}

// Two levels nearer than the resolution give one return between them, two
// further apart give both.
func TestNearLevelsBlend(t *testing.T) {
	for _, c := range []struct {
		height float64
		two    bool
	}{{0.3, false}, {2, true}} {
		s := exact(t, LineScanner)
		s.Divergence = [2]float64{0.004, 0.004}
		s.FieldOfView = 10 * degree
		body := solid.Block(solid.Rectangle(solid.Point{}, 30, 30, 0.5), 19, 20+c.height, tiles)
		_, b := scan(t, plain(body), s, target(30), 2)
		between, double := 0, 0
		for i, z := range b.Z {
			if z > 20.01 && z < 20+c.height-0.01 {
				between++
			}
			if b.Returns[i] == 2 {
				double++
			}
		}
		// The walls give some points between their edges, too.
		if few, many := min(double, between), max(double, between); many < 500 || few > many/5 || (double == many) != c.two {
			t.Errorf("step of %.1f m: %d double returns, %d points between", c.height, double, between)
		}
	}
}

func TestWorkersDoNotMatter(t *testing.T) {
	for _, kind := range Kinds() {
		s, _ := Preset(kind)
		s.LowRate, s.TopRate = 0.01, 0.01
		tree := solid.Ellipsoid(solid.Vec{X: 5, Y: 5, Z: 26}, solid.Vec{X: 4, Y: 4, Z: 5}, solid.Surface{Class: solid.Tree, Reflectance: 100})
		tree.Foliage = &solid.Foliage{Rate: 0.7, Voxel: 0.3, Gap: 0.4, Key: 1}
		w := plain(tree)
		_, a := scan(t, w, s, target(3), 1)
		_, b := scan(t, w, s, target(3), 5)
		if !reflect.DeepEqual(a, b) {
			t.Errorf("%s: one and five workers give different points", kind)
		}
	}
}

func TestTreesGiveSeveralReturns(t *testing.T) {
	s, _ := Preset(LineScanner)
	tree := solid.Ellipsoid(solid.Vec{Z: 28}, solid.Vec{X: 8, Y: 8, Z: 7}, solid.Surface{Class: solid.Tree, Reflectance: 110})
	tree.Foliage = &solid.Foliage{Rate: 0.35, Voxel: 0.35, Gap: 0.5, Key: 1}
	_, b := scan(t, plain(tree), s, target(30), 2)
	var most uint8
	below := 0
	for i := range b.X {
		most = max(most, b.Returns[i])
		if b.Return[i] > b.Returns[i] || b.Return[i] == 0 {
			t.Fatalf("return %d of %d", b.Return[i], b.Returns[i])
		}
		if math.Hypot(b.X[i], b.Y[i]) < 6 && solid.Class(b.Class[i]) == solid.Terrain {
			below++
		}
	}
	if most < 3 || most > 5 {
		t.Errorf("at most %d returns in a tree, want 3 to 5", most)
	}
	if below < 50 {
		t.Errorf("%d ground points below the crown", below)
	}
}

func TestOutliersHaveTheirShare(t *testing.T) {
	s := exact(t, LineScanner)
	s.LowRate, s.TopRate = 0.01, 0.005
	_, b := scan(t, plain(), s, target(10), 2)
	var low, high int
	for i, c := range b.Class {
		switch solid.Class(c) {
		case solid.LowNoise:
			low++
			if b.Z[i] > 19.1 {
				t.Fatalf("a low outlier at %.2f", b.Z[i])
			}
		case solid.HighNoise:
			high++
			if b.Z[i] < 21 {
				t.Fatalf("a high outlier at %.2f", b.Z[i])
			}
		}
	}
	n := float64(b.Len())
	for _, c := range []struct {
		name       string
		got, share float64
	}{{"low", float64(low), 0.01}, {"high", float64(high), 0.005}} {
		// High outliers may leave the block: their share is a little lower.
		if want := c.share * n; c.got > want+5*math.Sqrt(want) || c.got < 0.9*want-5*math.Sqrt(want) {
			t.Errorf("%s outliers: %v, want about %.0f", c.name, c.got, want)
		}
	}
}

func TestPulsesHaveTheirOwnTimes(t *testing.T) {
	for _, kind := range Kinds() {
		s, _ := Preset(kind)
		_, b := scan(t, plain(), s, target(5), 2)
		for i := 1; i < b.Len(); i++ {
			if b.Return[i] == 1 && b.Time[i] <= b.Time[i-1] {
				t.Fatalf("%s: pulse %d at %.7f s follows one at %.7f s", kind, i, b.Time[i], b.Time[i-1])
			}
		}
	}
}

func TestScanAngleAndLineEnds(t *testing.T) {
	s := exact(t, LineScanner)
	s.FieldOfView = 40 * degree // the block holds both ends of a scan line
	p, b := scan(t, plain(), s, target(10), 2)
	ends := 0
	for i := range b.X {
		l := p.Lines[b.Source[i]-1]
		d := solid.Point{X: b.X[i], Y: b.Y[i]}.Sub(l.From)
		right := solid.Point{X: math.Sin(l.Heading), Y: -math.Cos(l.Heading)}
		// The path itself sways by up to 0.3 m: 0.3° at 60 m.
		want := math.Atan2(d.Dot(right), s.Height) / degree
		if math.Abs(want-float64(b.ScanAngle[i])) > 0.4 {
			t.Fatalf("point %d has scan angle %.2f, its place says %.2f", i, b.ScanAngle[i], want)
		}
		if b.Flags[i]&cloud.EdgeOfFlightLine != 0 {
			ends++
		}
	}
	if ends == 0 {
		t.Error("no point ends a scan line")
	}
}

func TestTurnsAddPointsWithLargerErrors(t *testing.T) {
	s, _ := Preset(LineScanner)
	at := target(5)
	at.Turns = true
	p, b := scan(t, plain(), s, at, 2)
	var straight, turning []float64
	for i := range b.X {
		l := p.Lines[b.Source[i]-1]
		if solid.Class(b.Class[i]) != solid.Terrain {
			continue // an outlier
		}
		if b.Time[i]-l.Start > l.Length/p.Speed {
			turning = append(turning, b.Z[i])
		} else {
			straight = append(straight, b.Z[i])
		}
	}
	if len(turning) < 1000 {
		t.Fatalf("%d points in turns", len(turning))
	}
	_, a := moments(straight)
	_, c := moments(turning)
	if c < 1.3*a {
		t.Errorf("z deviates by %.4f m in turns, %.4f m else", c, a)
	}
}

func TestGlossLosesPulses(t *testing.T) {
	s := exact(t, LineScanner)
	mirror := tiles
	mirror.Gloss = 204 // four fifths
	body := solid.Block(solid.Rectangle(solid.Point{}, 40, 40, 0), 19, 22, mirror)
	_, b := scan(t, plain(body), s, target(10), 2)
	on := 0
	for i := range b.X {
		if math.Abs(b.X[i]) < 19 && math.Abs(b.Y[i]) < 19 {
			on++
		}
	}
	if got := float64(on) / (38 * 38 * 10); got < 0.15 || got > 0.26 {
		t.Errorf("%.2f of the pulses come back from the mirror, want 0.2", got)
	}
}

func TestCancel(t *testing.T) {
	s, _ := Preset(LineScanner)
	p, err := MakePlan(s, target(50))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	err = Fly(ctx, plain(), p, p.Lines[0], Options{Workers: 2, Take: func(*cloud.Batch) error {
		calls++
		cancel()
		return ctx.Err()
	}})
	if err == nil || calls != 1 {
		t.Errorf("error %v after %d batches, want one", err, calls)
	}
}
