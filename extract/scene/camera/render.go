package camera

import (
	"context"
	"math"
	"sync"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// A Frame says what an image shows.
type Frame struct {
	// Width and Height are in pixels.
	Width, Height int
	// Ground returns the place that is shown at a position of the image, in
	// pixels from its upper left corner; ok is false where nothing is shown. It
	// must be safe for concurrent use.
	Ground func(col, row float64) (p solid.Point, ok bool)
	// Seed keys the noise.
	Seed uint64
}

// What the sensor does, in pixels and in grey levels of 255: common practice,
// no source. The blur is beside that by the pixel's own area.
const (
	blur  = 0.55
	noise = 2.5
	fine  = 16 // samples in a pixel with an edge in it
	halo  = 3  // pixels beyond which the blur does not reach
)

// StripRows is the number of rows of a strip; the last one may have fewer.
const StripRows = 256

// Render renders the image strip by strip, from the top, and hands each to
// take: 4 bytes a pixel, red, green, blue, and 255 where there is something to
// see.
func (c *Camera) Render(ctx context.Context, f Frame, workers int, take func(rgba []byte) error) error {
	strips := (f.Height + StripRows - 1) / StripRows
	out := make([]chan []byte, strips)
	for i := range out {
		out[i] = make(chan []byte, 1)
	}
	slots := make(chan struct{}, max(workers, 1))
	ctx, cancel := context.WithCancel(ctx)
	var all sync.WaitGroup
	defer all.Wait()
	defer cancel()
	all.Add(1)
	go func() {
		defer all.Done()
		for i := range strips {
			select {
			case slots <- struct{}{}:
			case <-ctx.Done():
				return
			}
			all.Add(1)
			go func() {
				defer all.Done()
				out[i] <- c.strip(f, i*StripRows, min((i+1)*StripRows, f.Height))
			}()
		}
	}()
	for i := range strips {
		select {
		case rgba := <-out[i]:
			<-slots // taken: the next strip may begin
			if err := take(rgba); err != nil {
				return err
			}
		case <-ctx.Done():
			return ctx.Err()
		}
	}
	return nil
}

// A strip is some rows of the image with a halo around them.
type strip struct {
	width, height int // with the halo
	shown         []bool
	plane         [3][]float32
}

// strip renders the rows from, before until.
func (c *Camera) strip(f Frame, from, until int) []byte {
	s := c.expose(f, from, until)
	for i := range s.plane {
		s.plane[i] = blurred(s.plane[i], s.width)
	}
	out := make([]byte, 0, 4*f.Width*(until-from))
	for row := from; row < until; row++ {
		for col := range f.Width {
			i := (row-from+halo)*s.width + col + halo
			if !s.shown[i] {
				out = append(out, 0, 0, 0, 0)
				continue
			}
			draw := chance.Keyed(chance.Lattice(f.Seed, uint64(row), uint64(col), 0xca3e7a))
			for k := range s.plane {
				v := float64(s.plane[k][i]) + noise*draw.Normal()
				out = append(out, byte(min(max(math.Round(v), 0), 255)))
			}
			out = append(out, 255)
		}
	}
	return out
}

// expose gathers the light of each pixel: one sample, or where it differs from
// a neighbour's, the mean over the pixel.
func (c *Camera) expose(f Frame, from, until int) strip {
	s := strip{width: f.Width + 2*halo, height: until - from + 2*halo}
	n := s.width * s.height
	s.shown = make([]bool, n)
	samples := make([]sample, n)
	for i := range s.plane {
		s.plane[i] = make([]float32, n)
	}
	var buffer []int32
	at := func(i int, u, v float64) (one sample, ok bool) {
		p, ok := f.Ground(float64(i%s.width-halo)+u, float64(i/s.width-halo+from)+v)
		if ok {
			one, buffer = c.look(p, buffer)
		}
		return one, ok
	}
	for i := range samples {
		samples[i], s.shown[i] = at(i, 0.5, 0.5)
	}
	for i := range samples {
		colour := samples[i].colour
		if s.shown[i] && s.mixed(samples, i) {
			colour = [3]float64{}
			// A lattice of which no two samples share a row or a column: an edge
			// along the pixels is found to a sixteenth of one, not to a fourth.
			const generator = 7
			for k := range fine {
				one, _ := at(i, (float64(k)+0.5)/fine, (float64(k*generator%fine)+0.5)/fine)
				for j, v := range one.colour {
					colour[j] += v / fine
				}
			}
		}
		for j, v := range colour {
			s.plane[j][i] = float32(v)
		}
	}
	return s
}

// mixed reports whether a pixel's sample is of another kind than one around it,
// leaves apart.
func (s *strip) mixed(samples []sample, i int) bool {
	col, row := i%s.width, i/s.width
	for r := max(row-1, 0); r <= min(row+1, s.height-1); r++ {
		for q := max(col-1, 0); q <= min(col+1, s.width-1); q++ {
			o := samples[r*s.width+q]
			if o.kind != samples[i].kind && !(o.foliage && samples[i].foliage) {
				return true
			}
		}
	}
	return false
}

// blurred returns the plane under a Gaussian of the sensor's width.
func blurred(plane []float32, width int) []float32 {
	var kernel [halo + 1]float32
	sum := 0.0
	for i := -halo; i <= halo; i++ {
		sum += math.Exp(-float64(i*i) / (2 * blur * blur))
	}
	for i := range kernel {
		kernel[i] = float32(math.Exp(-float64(i*i)/(2*blur*blur)) / sum)
	}
	return convolved(convolved(plane, width, 1, kernel), width, width, kernel)
}

// convolved applies the kernel along the rows (step 1) or the columns (step
// width). What lies within a halo of the border is not meaningful.
func convolved(plane []float32, width, step int, kernel [halo + 1]float32) []float32 {
	out := make([]float32, len(plane))
	for i := halo * step; i < len(plane)-halo*step; i++ {
		v := kernel[0] * plane[i]
		for k := 1; k <= halo; k++ {
			v += kernel[k] * (plane[i-k*step] + plane[i+k*step])
		}
		out[i] = v
	}
	return out
}
