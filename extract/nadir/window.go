package nadir

import "quoin/vector/gdal"

// A drawnTile is a tile with its pixels.
type drawnTile struct {
	place
	*gdal.Image[uint8]
}

// Window draws a part of the image: so many pixels from a column and row on, which
// may lie outside. It is not for use by several goroutines at once.
func (m *Image) Window(column, row, width, height int) (*gdal.Image[uint8], error) {
	out := gdal.NewImage[uint8](width, height, m.kind.Channels())
	for top := row - mod(row, side); top < row+height; top += side {
		for left := column - mod(column, side); left < column+width; left += side {
			t, err := m.painted(place{left / side, top / side})
			if err != nil {
				return nil, err
			}
			if t != nil {
				overlap(out, column, row, t, left, top)
			}
		}
	}
	return out, nil
}

// mod is the remainder, never below 0.
func mod(a, b int) int { return (a%b + b) % b }

// overlap copies what two images share, each given where it begins.
func overlap(out *gdal.Image[uint8], column, row int, from *gdal.Image[uint8], left, top int) {
	x0, x1 := max(column, left), min(column+out.Width, left+from.Width)
	for y := max(row, top); y < min(row+out.Height, top+from.Height); y++ {
		a, b := (y-row)*out.Width+x0-column, (y-top)*from.Width+x0-left
		n := max(x1-x0, 0)
		copy(out.Mask[a:a+n], from.Mask[b:b+n])
		copy(out.Pix[a*out.Channels:(a+n)*out.Channels], from.Pix[b*out.Channels:])
	}
}

// paintedKept is how many drawn tiles are kept for windows beside each other.
const paintedKept = 16

// painted returns a drawn tile; nil where it has no points.
func (m *Image) painted(p place) (*gdal.Image[uint8], error) {
	for _, k := range m.drawn {
		if k.place == p {
			return k.Image, nil
		}
	}
	if m.tiles.entries[p] == nil {
		return nil, nil
	}
	if m.scene == nil {
		m.scene = newScene()
	}
	if err := m.scene.gather(m.tiles, p); err != nil {
		return nil, err
	}
	m.scene.fill()
	out := gdal.NewImage[uint8](side, side, m.kind.Channels())
	m.paint(m.scene, out)
	if len(m.drawn) >= paintedKept {
		m.drawn = m.drawn[1:]
	}
	m.drawn = append(m.drawn, drawnTile{p, out})
	return out, nil
}
