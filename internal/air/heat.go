package air

import "math"

// ReboundShare is the part of an instant step of pressure in a closed bore that
// comes back as heat flows between gas and wall: (γ−1)/γ.
const ReboundShare = (Gamma - 1) / Gamma

// ThermalDiffusivity returns that of dry air in m²/s: 2.135e-5 at 20 °C and the
// standard atmosphere, growing as T^1.8 and falling with pressure. Against the
// correlations of Lemmon et al. (2000, 2004) it is right to 0.4 % from 0 to 27 °C.
func ThermalDiffusivity(temperature, pressure float64) float64 {
	return 2.135e-5 * math.Pow(temperature/293.15, 1.8) * StandardPressure / pressure
}

// Mode is one way in which heat dies away in a long round bore.
type Mode struct {
	Lambda float64 // eigenvalue: the rate is λ²·α/a²
	Weight float64 // share of the mean that decays so
}

// TimeConstant returns a²/(λ²·α) in s for a bore of radius a (m) filled with gas
// of diffusivity α (m²/s).
func (m Mode) TimeConstant(radius, diffusivity float64) float64 {
	return radius * radius / (m.Lambda * m.Lambda * diffusivity)
}

// Modes are the modes of one problem, slowest first.
type Modes []Mode

// Left returns Σ w·exp(−λ²·f), the part that is left at the Fourier number
// f = α·t/a². Times [ReboundShare] and the step it is the rebound still to come
// after an instant step of pressure, when the modes are those of [ClosedModes].
func (ms Modes) Left(fourier float64) float64 {
	var sum float64
	for _, m := range ms {
		sum += m.Weight * math.Exp(-m.Lambda*m.Lambda*fourier)
	}
	return sum
}

// ClosedModes returns the n slowest modes of a bore closed at constant volume,
// the roots of λ·J₀(λ) + 2(γ−1)·J₁(λ) = 0 with w = 4γ/(λ² + 4γ(γ−1)), followed by
// one that stands for all the faster ones. Its weight and eigenvalue are such that
// Σw = 1 and Σw/λ² = 1/(8γ), as for the whole series, so that neither an instant
// step nor a slow leak sees that the series was cut.
func ClosedModes(n int) Modes {
	zeros := besselZeros(n + 1)
	modes := make(Modes, 0, n+1)
	for i := range n {
		// At the zeros of J₀ the function is 2(γ−1)·J₁, which changes sign from one
		// to the next; there is one root between each two.
		lambda := bisect(func(x float64) float64 {
			return x*math.J0(x) + 2*(Gamma-1)*math.J1(x)
		}, zeros[i], zeros[i+1])
		weight := 4 * Gamma / (lambda*lambda + 4*Gamma*(Gamma-1))
		modes = append(modes, Mode{Lambda: lambda, Weight: weight})
	}
	return withRest(modes, 1/(8*Gamma))
}

// DrawModes returns the n slowest modes with which the mean temperature follows a
// pressure that is given, as while a bore is being drawn: λ are the zeros of J₀,
// w = 4/λ². Like [ClosedModes] it ends with one more that stands for the rest, such
// that Σw = 1 and Σw/λ² = 1/8.
func DrawModes(n int) Modes {
	modes := make(Modes, 0, n+1)
	for _, zero := range besselZeros(n) {
		modes = append(modes, Mode{Lambda: zero, Weight: 4 / (zero * zero)})
	}
	return withRest(modes, 1.0/8)
}

// withRest adds the mode that completes Σw to 1 and Σw/λ² to the given sum.
func withRest(modes Modes, slowSum float64) Modes {
	weight := 1.0
	for _, m := range modes {
		weight -= m.Weight
		slowSum -= m.Weight / (m.Lambda * m.Lambda)
	}
	return append(modes, Mode{Lambda: math.Sqrt(weight / slowSum), Weight: weight})
}

// besselZeros returns the first n positive zeros of J₀. The k-th lies within 0.05
// of (k − ¼)π (McMahon's first term, whose error falls as 1/k from 0.049 at k = 1).
func besselZeros(n int) []float64 {
	zeros := make([]float64, n)
	for i := range zeros {
		guess := (float64(i) + 0.75) * math.Pi
		zeros[i] = bisect(math.J0, guess-0.1, guess+0.1)
	}
	return zeros
}

// bisect returns the root of f between two points where its sign differs, to the
// last bit that halving can find.
func bisect(f func(float64) float64, low, high float64) float64 {
	negative := f(low) < 0
	for {
		mid := low + (high-low)/2
		if mid <= low || mid >= high {
			return mid
		}
		if (f(mid) < 0) == negative {
			low = mid
		} else {
			high = mid
		}
	}
}
