package assess

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"quoin/vector/control"
)

// leastBuildings is the number below which nothing is said of how corners of
// one building go together.
const leastBuildings = 3

// Clusters says how much the used differences are worth, corners of one
// building being alike: they share its walls' directions, its swaths, its
// gutter and often its set-up of the instrument.
type Clusters struct {
	Points    int `json:"points"`
	Buildings int `json:"buildings"`
	// Correlation is that of two corners of one building, along an axis, from
	// an analysis of variance of both axes; 0 where it comes out below. NaN
	// with fewer than three buildings, or one corner on each.
	Correlation control.Value `json:"correlation_within_buildings"`
	// Effective is the number of independent points that would determine the
	// mean as well: n/(1 + (m − 1)·Correlation), m being the mean number of
	// corners on the building of a corner (Kish 1965, from memory).
	Effective control.Value `json:"effective_points"`
	// SigmaMeanE, SigmaMeanN and SigmaRMSE are standard errors of the means
	// and of RMSE_H with buildings as the independent units (Liang & Zeger
	// 1986, with their number less one; from memory).
	SigmaMeanE control.Value `json:"sigma_mean_e"`
	SigmaMeanN control.Value `json:"sigma_mean_n"`
	SigmaRMSE  control.Value `json:"sigma_rmse_h"`
	// PE and PN are the chances of means as large without a bias, by t tests
	// with as many degrees of freedom as buildings less one.
	PE control.Value `json:"p_bias_e"`
	PN control.Value `json:"p_bias_n"`
}

// clusters groups the used differences by building.
func clusters(list []residual) Clusters {
	nan := control.Value(math.NaN())
	c := Clusters{Points: len(list), Correlation: nan, Effective: nan, SigmaMeanE: nan, SigmaMeanN: nan, SigmaRMSE: nan, PE: nan, PN: nan}
	groups := byBuilding(list)
	c.Buildings = len(groups)
	if len(groups) < leastBuildings {
		return c
	}
	n, g := float64(len(list)), float64(len(groups))
	var mean [2]float64
	var square float64
	for _, r := range list {
		mean[0], mean[1] = mean[0]+r.d[0]/n, mean[1]+r.d[1]/n
		square += (r.d[0]*r.d[0] + r.d[1]*r.d[1]) / n
	}
	var sums [3]float64 // of squared sums by building: east, north, squares
	for _, group := range groups {
		var s [3]float64
		for _, r := range group {
			s[0], s[1] = s[0]+r.d[0]-mean[0], s[1]+r.d[1]-mean[1]
			s[2] += r.d[0]*r.d[0] + r.d[1]*r.d[1] - square
		}
		for i := range sums {
			sums[i] += s[i] * s[i]
		}
	}
	sigma := func(sum float64) float64 { return math.Sqrt(sum*g/(g-1)) / n }
	c.SigmaMeanE, c.SigmaMeanN = control.Value(sigma(sums[0])), control.Value(sigma(sums[1]))
	if square > 0 {
		c.SigmaRMSE = control.Value(sigma(sums[2]) / (2 * math.Sqrt(square)))
	}
	t := distuv.StudentsT{Sigma: 1, Nu: g - 1}
	for axis, p := range []*control.Value{&c.PE, &c.PN} {
		if s := sigma(sums[axis]); s > 0 {
			*p = control.Value(2 * t.Survival(math.Abs(mean[axis])/s))
		}
	}
	c.within(groups, n)
	return c
}

// within fills in the correlation within buildings and what follows from it.
func (c *Clusters) within(groups [][]residual, n float64) {
	g := float64(len(groups))
	if n == g {
		return
	}
	var mean [2]float64
	var sizes float64 // sum of squared sizes
	for _, group := range groups {
		sizes += float64(len(group) * len(group))
		for _, r := range group {
			mean[0], mean[1] = mean[0]+r.d[0]/n, mean[1]+r.d[1]/n
		}
	}
	var between, inside float64
	for _, group := range groups {
		m := float64(len(group))
		for axis := range mean {
			own := 0.0
			for _, r := range group {
				own += r.d[axis] / m
			}
			between += m * (own - mean[axis]) * (own - mean[axis])
			for _, r := range group {
				inside += (r.d[axis] - own) * (r.d[axis] - own)
			}
		}
	}
	between, inside = between/(2*(g-1)), inside/(2*(n-g))
	usual := (n - sizes/n) / (g - 1) // corners on a building, for the analysis of variance
	rho := 0.0
	if d := between + (usual-1)*inside; d > 0 {
		rho = max((between-inside)/d, 0)
	}
	c.Correlation = control.Value(rho)
	c.Effective = control.Value(n / (1 + (sizes/n-1)*rho))
}

// byBuilding groups the differences, in the order in which buildings occur.
func byBuilding(list []residual) [][]residual {
	at := map[string]int{}
	var groups [][]residual
	for _, r := range list {
		i, ok := at[r.building]
		if !ok {
			i = len(groups)
			at[r.building] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], r)
	}
	return groups
}
