package ground

// A plane is a fit of z = a + b·x + c·y by least squares, as sums.
type plane struct{ n, x, y, z, xx, xy, yy, xz, yz float64 }

func (p *plane) add(x, y, z float64) {
	p.n++
	p.x += x
	p.y += y
	p.z += z
	p.xx += x * x
	p.xy += x * y
	p.yy += y * y
	p.xz += x * z
	p.yz += y * z
}

// solve returns the fit's coefficients. Damping, in square metres, is added to
// the spread of the positions: what lies closer together, or in a line, gives
// a level plane across. It needs one point at least.
func (p *plane) solve(damping float64) (a, b, c float64) {
	mx, my, mz := p.x/p.n, p.y/p.n, p.z/p.n
	xx, yy := p.xx/p.n-mx*mx+damping, p.yy/p.n-my*my+damping
	xy, xz, yz := p.xy/p.n-mx*my, p.xz/p.n-mx*mz, p.yz/p.n-my*mz
	det := xx*yy - xy*xy
	b, c = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	return mz - b*mx - c*my, b, c
}
