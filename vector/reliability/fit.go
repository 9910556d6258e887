package reliability

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"

	"quoin/vector"
)

// A Sample is a footprint of which it is known whether it is right.
type Sample struct {
	Values []float64
	Right  bool
}

// Fit returns the coefficients that are most probable given the samples, and
// their standard errors: a logistic regression with a normal prior for each
// coefficient about its Feature's, by Newton's method (Hosmer & Lemeshow 2000,
// Applied Logistic Regression, 2nd ed., chapter 2; the prior is that of ridge
// regression). Without samples the priors come out. It returns an error where
// a sample has another number of values than there are features.
func Fit(samples []Sample) (coefficients, sigmas []float64, err error) {
	features := Features()
	n := len(features)
	for _, s := range samples {
		if len(s.Values) != n {
			return nil, nil, errors.New("reliability: fit: a sample has another number of values than there are features")
		}
	}
	b := make([]float64, n)
	for i, f := range features {
		b[i] = f.Prior
	}
	var chol mat.Cholesky
	const steps = 50
	for range steps {
		gradient, hessian := mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
		for i, f := range features {
			gradient.SetVec(i, (f.Prior-b[i])/(f.PriorSigma*f.PriorSigma))
			hessian.SetSym(i, i, 1/(f.PriorSigma*f.PriorSigma))
		}
		for _, s := range samples {
			p := logistic(b, s.Values)
			for i, v := range s.Values {
				gradient.SetVec(i, gradient.AtVec(i)+v*(flag(s.Right)-p))
				for j := i; j < n; j++ {
					hessian.SetSym(i, j, hessian.At(i, j)+p*(1-p)*v*s.Values[j])
				}
			}
		}
		var step mat.VecDense
		if !chol.Factorize(hessian) || chol.SolveVecTo(&step, gradient) != nil {
			return nil, nil, errors.New("reliability: fit: the samples do not tell the coefficients")
		}
		largest := 0.0
		for i := range b {
			b[i] += step.AtVec(i)
			largest = max(largest, math.Abs(step.AtVec(i)))
		}
		if largest < 1e-9 {
			break
		}
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil {
		return nil, nil, errors.New("reliability: fit: the samples do not tell the coefficients")
	}
	sigmas = make([]float64, n)
	for i := range sigmas {
		sigmas[i] = math.Sqrt(inverse.At(i, i))
	}
	return b, sigmas, nil
}

// logistic returns the probability at the values.
func logistic(coefficients, values []float64) float64 {
	sum := 0.0
	for i, c := range coefficients {
		sum += c * values[i]
	}
	return 1 / (1 + math.Exp(-sum))
}

// Probability returns the probability, by coefficients in the order of
// Features, that a footprint with these values is right.
func Probability(coefficients, values []float64) float64 { return logistic(coefficients, values) }

// Quality returns the probability that a footprint is right by the published
// coefficients, rounded down to hundredths. spacing is that of the cloud, in the
// horizontal unit of the footprint.
func Quality(f vector.Footprint, spacing float64) float64 {
	return math.Floor(100*logistic(Coefficients(), Values(f, spacing))) / 100
}
