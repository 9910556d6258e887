package outline

import "math"

// reach is how many standard deviations from an edge a point still counts: beyond it the Gaussian tail, 4e-11, is far below the label
// floor.
const reach = 6.5

// density is the standard normal density.
func density(z float64) float64 { return math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi) }

// cumulative is the standard normal distribution function.
func cumulative(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// legendre holds the positive nodes and weights of the 10-point Gauss-Legendre rule on [-1, 1] (Abramowitz & Stegun 1964, table 25.4).
var legendre = [5][2]float64{
	{0.1488743389816312, 0.2955242247147529},
	{0.4333953941292472, 0.2692667193099963},
	{0.6794095682990244, 0.2190863625159820},
	{0.8650633666889845, 0.1494513491505806},
	{0.9739065285171717, 0.0666713443086881},
}

// owen is Owen's function T(h, a) = 1/(2π) ∫₀ᵃ exp(-h²(1+x²)/2)/(1+x²) dx, the probability mass of the standard bivariate normal
// over {X > h, 0 < Y < aX}. For any h and a, infinite a included, the absolute error is below 1e-9 (Owen 1956, Ann. Math. Stat. 27:1075).
//
// The integral is taken directly for |a| <= 1, where the integrand is flat enough for the fixed rule or the factor exp(-h²/2) has
// made it negligible; the reflection T(h,a) = ½Φ(h) + ½Φ(ah) - Φ(h)Φ(ah) - T(ah, 1/a) covers a > 1.
func (n *normalTable) owen(h, a float64) float64 {
	if a < 0 {
		return -n.owen(h, -a)
	}
	h = math.Abs(h)
	if a <= 1 {
		return owenCore(h, a)
	}
	if math.IsInf(a, 1) {
		q, _ := n.of(-h)
		return 0.5 * q
	}
	ah := a * h
	q, _ := n.of(-h)
	r, _ := n.of(-ah)
	return 0.5*(q+r) - q*r - owenCore(ah, 1/a)
}

// owenCore is owen for 0 <= a <= 1 and h >= 0.
func owenCore(h, a float64) float64 {
	hh := -0.5 * h * h
	if hh < -25 {
		return 0
	}
	half, sum := 0.5*a, 0.0
	for _, node := range legendre {
		lo, hi := half*(1-node[0]), half*(1+node[0])
		qlo, qhi := 1+lo*lo, 1+hi*hi
		sum += node[1] * (math.Exp(hh*qlo)/qlo + math.Exp(hh*qhi)/qhi)
	}
	return half * sum / (2 * math.Pi)
}
