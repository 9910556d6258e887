package accuracy

import "quoin/vector"

// A RoofShare counts roofs of one true type.
type RoofShare struct {
	Type  vector.RoofType
	Right Share
	// Taken counts, in the order of vector.RoofTypes, what they were taken for;
	// the last counts those of no type.
	Taken []int
}

// roofs counts the types of roofs.
func (s *Summary) roofs(blocks []Block) {
	types := append(vector.RoofTypes(), vector.RoofUnknown)
	for _, t := range types[:len(types)-1] {
		share := RoofShare{Type: t, Taken: make([]int, len(types))}
		pairs(blocks, func(_ *Block, p *Pair) {
			if p.TrueRoof != t {
				return
			}
			share.Right.add(p.Roof == t)
			for i, other := range types {
				if p.Roof == other {
					share.Taken[i]++
				}
			}
		})
		if share.Right.N > 0 {
			s.Roofs = append(s.Roofs, share)
		}
	}
}
