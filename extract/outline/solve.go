package outline

import "math"

// A climb is one maximisation: of which parameters, over which cells, at what noise.
type climb struct {
	sigma float64
	// share of the log-likelihood at the noise wide is added; 0 adds none.
	wide, share float64
	// cap bounds how far any edge moves in a step, metres.
	cap float64
	// tolerance ends the climb when no edge moves by more; metres.
	tolerance float64
	rounds    int
	// free marks the parameters to move; nil frees all.
	free []bool
	over window
}

// run is climb without the number of steps.
func (l *likelihood) run(m *model, c climb) float64 {
	value, _ := l.ascend(m, c)
	return value
}

// ascend moves m uphill by Fisher scoring with Levenberg damping and returns the last value and the number of steps taken. Steps that would turn an edge around are
// refused, so a valid model stays one in which each edge keeps its way.
func (l *likelihood) ascend(m *model, c climb) (value float64, steps int) {
	var e, trial evaluation
	l.mixed(m, c, &e)
	arm := m.radius(l)
	damping := 1e-3
	for round := 0; round < c.rounds; round++ {
		step := e.step(damping, len(m.theta), c)
		if step == nil {
			damping = max(damping*10, 1e-3)
			if damping > 1e6 {
				break
			}
			continue
		}
		size := limit(step, len(m.theta), arm, c.cap)
		next := m.clone()
		next.shift(step)
		if next.keepsWay(m, l) {
			l.mixed(next, c, &trial)
		} else {
			trial.value = math.Inf(-1)
		}
		if !(trial.value > e.value) {
			if size < c.tolerance {
				break
			}
			if damping *= 8; damping > 1e8 {
				break
			}
			continue
		}
		*m = *next
		steps++
		e, trial = trial, e
		if size < c.tolerance && damping < 1e-2 { // a step that damping made small tells nothing
			break
		}
		damping = max(damping/8, 1e-7)
	}
	return e.value, steps
}

// mixed evaluates m at the noise of a climb and adds the share of the log-likelihood at the wider one.
func (l *likelihood) mixed(m *model, c climb, into *evaluation) {
	l.at(m, c.sigma, c.over, into)
	if c.share == 0 {
		return
	}
	l.at(m, c.wide, c.over, &l.wide)
	into.value += c.share * l.wide.value
	for i, g := range l.wide.gradient {
		into.gradient[i] += c.share * g
	}
	for i, v := range l.wide.info {
		into.info[i] += c.share * v
	}
}

// radius is the greatest distance of a corner from the origin: what a change of direction is multiplied by.
func (m *model) radius(l *likelihood) float64 {
	l.outer = m.spans(0, l.outer)
	r := 1.0
	for i := range l.outer {
		r = max(r, math.Hypot(l.outer[i].ax, l.outer[i].ay))
	}
	return r
}

// limit shortens a step so that no edge moves by more than most, and returns how far the most moved edge goes.
func limit(step []float64, directions int, arm, most float64) float64 {
	size := 0.0
	for i, d := range step {
		if i < directions {
			d *= arm
		}
		size = max(size, math.Abs(d))
	}
	if size > most {
		for i := range step {
			step[i] *= most / size
		}
		size = most
	}
	return size
}

// keepsWay reports whether no edge of the model runs backwards that ran forwards in the one before.
func (m *model) keepsWay(before *model, l *likelihood) bool {
	l.inner, l.outer = before.spans(0, l.inner), m.spans(0, l.outer)
	for i := range l.outer {
		if n := l.outer[i].length(); math.IsNaN(n) || n <= 0 && l.inner[i].length() > 0 {
			return false
		}
	}
	return true
}

// step solves (information + damping·diagonal) step = gradient for the free parameters; the others get 0. Offsets have a little more on
// the diagonal, so that one that lies in a wide gap, where the likelihood is flat, does not ask for a step that stops all others. It
// returns nil when the matrix is not positive definite.
func (e *evaluation) step(damping float64, directions int, c climb) []float64 {
	free := c.free
	index := make([]int, 0, e.parameter)
	for i := range e.gradient {
		if (free == nil || free[i]) && e.info[i*e.parameter+i] > 0 {
			index = append(index, i)
		}
	}
	n := len(index)
	a, b := make([]float64, n*n), make([]float64, n)
	for r, i := range index {
		for k := 0; k <= r; k++ {
			a[r*n+k] = e.info[i*e.parameter+index[k]]
		}
		a[r*n+r] += damping * a[r*n+r]
		if i >= directions {
			a[r*n+r] += 1 / (16 * c.cap * c.cap)
		}
		b[r] = e.gradient[i]
	}
	if !cholesky(a, n) {
		return nil
	}
	solveCholesky(a, n, b)
	step := make([]float64, e.parameter)
	for r, i := range index {
		step[i] = b[r]
	}
	return step
}

// cholesky overwrites the lower triangle of the n×n matrix a by its factor and reports whether a is positive definite.
func cholesky(a []float64, n int) bool {
	for j := 0; j < n; j++ {
		rowJ := a[j*n : j*n+j+1]
		for i := j; i < n; i++ {
			rowI := a[i*n : i*n+j+1]
			sum := rowI[j]
			for k := 0; k < j; k++ {
				sum -= rowI[k] * rowJ[k]
			}
			if i > j {
				rowI[j] = sum / rowJ[j]
				continue
			}
			if !(sum > 0) {
				return false
			}
			rowJ[j] = math.Sqrt(sum)
		}
	}
	return true
}

// solveCholesky overwrites b by the solution of a·x = b, a as left by cholesky.
func solveCholesky(a []float64, n int, b []float64) {
	for i := 0; i < n; i++ {
		for k := 0; k < i; k++ {
			b[i] -= a[i*n+k] * b[k]
		}
		b[i] /= a[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			b[i] -= a[k*n+i] * b[k]
		}
		b[i] /= a[i*n+i]
	}
}
