package plate

import (
	"fmt"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Block is what the map of a block shows.
type Block struct {
	vector.Delivery
	Under Underlay
	Bound orb.Bound
}

// Block returns the map of a block: all footprints with their numbers, and the
// surveyed points.
func (s Sheet) Block(b Block) string {
	d := s.draw(b.Bound, b.Under, "Map of "+plural(len(b.Footprints), "footprint"))
	for i, f := range b.Footprints {
		d.outline(f)
		x, y := d.at(f.Polygon.Bound().Center())
		d.text(x, y+6, 0, "halo mid", fmt.Sprint(i+1))
	}
	looks := 0
	for _, f := range b.Footprints {
		if len(f.Review) > 0 {
			looks++
		}
	}
	used := 0
	for _, c := range b.Checks {
		x, y := d.at(c.Surveyed)
		class := "arrow"
		if !c.Used {
			class += " left"
		} else {
			used++
		}
		fmt.Fprintf(d, `<circle class="%s" cx="%s" cy="%s" r="7"/><path class="cross" d="M%s %[3]sh14m-7 -7v14"/>`, class, short(x), short(y), short(x-7))
	}
	left := []string{fmt.Sprintf("%s, %d to look at (dashed)", plural(len(b.Footprints), "footprint"), looks)}
	if len(b.Checks) > 0 {
		left = append(left, fmt.Sprintf("%s, %d used", plural(len(b.Checks), "surveyed point"), used))
	}
	return d.close("Block", left, []string{"Numbers are those of the plates and of the report."})
}

// plural writes a number of things.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
