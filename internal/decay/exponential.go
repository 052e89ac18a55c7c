package decay

import (
	"fmt"
	"math"
)

// Exponential is the fall (or rise) y = A·exp(−K·(t−t₀)) + C fitted to readings, t₀ being
// the time of the first. It is no leakage rate: a bore in which heat flows does not
// fall like this (see the package comment). It is a first look at a decay, quick enough
// to be had anew at every reading, and what go run ./internal/tools/fitspeed holds
// against other programs. 1/K would do for the time constant at which the full fit
// begins; that gets there as surely from its own plainer guess, and no later.
//
// A, C and their uncertainties have the unit of the readings, K and its the inverse of
// that of the times.
type Exponential struct {
	A, K, C float64
	// UA, UK and UC are standard uncertainties from the whole Jacobian, white noise
	// taken from what the curve leaves.
	UA, UK, UC float64
	Sum        float64 // of squares of what the curve leaves
	Passes     int     // over all readings
	Ending     Ending
}

// Ending says how a fit of an [Exponential] ended. Only what settled has an A, a K and a C.
type Ending uint8

const (
	// Settled at a minimum.
	Settled Ending = iota
	// TooSlow is a fit that ran off to K → 0: the readings are a straight line, or bend
	// the other way.
	TooSlow
	// TooFast is a fit that ran off to K → ∞: all is over before the second reading.
	TooFast
	// NoDecay is a fit that explains no more than scatter about a level would.
	NoDecay
	// Unusable readings: fewer than four, not finite, or with times that go back.
	Unusable
	// Unsettled is a fit that used up its passes, or whose numbers ran out of range.
	Unsettled
)

var endingNames = [...]string{"settled", "ran off to a straight line", "ran off to a step", "no decay", "unusable readings", "unsettled"}

func (e Ending) String() string {
	if int(e) < len(endingNames) {
		return endingNames[e]
	}
	return fmt.Sprintf("ending %d", e)
}

// FitExponential fits an [Exponential] to readings y at times t, in order but not
// evenly spaced. A first value of K saves a little time; 0 asks for none. Equal
// readings give equal fits. It allocates nothing and takes about two passes: see
// exponential_search.go.
func FitExponential(t, y []float64, k float64) Exponential {
	if len(t) != len(y) || len(t) < fewestExponential || !(t[0]-t[0] == 0) {
		return Exponential{Ending: Unusable}
	}
	for i := 1; i < len(t); i++ {
		if !(t[i] >= t[i-1]) { // not so for NaN either
			return Exponential{Ending: Unusable}
		}
	}
	return fitExponential(course{t: t, y: y, origin: t[0]}, k)
}

// FitExponentialGrid is [FitExponential] for readings evenly spaced by step.
func FitExponentialGrid(step float64, y []float64, k float64) Exponential {
	if len(y) < fewestExponential || !(step > 0) {
		return Exponential{Ending: Unusable}
	}
	return fitExponential(course{y: y, step: step}, k)
}

// fewestExponential leaves one reading more than parameters, for the noise.
const fewestExponential = 4

// result reports where a search over n readings ended.
func (s *descending) result(n float64) Exponential {
	q := s.at
	noise := q.least / (n - 3)
	switch {
	case !(q.about < math.Inf(1)):
		return Exponential{Passes: s.passes, Ending: Unusable}
	case q.about-q.least <= worthwhile*noise:
		return Exponential{Sum: q.about, Passes: s.passes, Ending: NoDecay}
	case s.ending != Settled:
		return Exponential{Sum: q.least, Passes: s.passes, Ending: s.ending}
	}
	det := q.gg*q.dd - q.gd*q.gd
	varA := noise * q.dd / det
	varK := noise * q.gg / (q.a * q.a * det)
	both := noise * q.gd / (q.a * det)
	varC := noise/n + q.meanE*q.meanE*varA + q.a*q.a*q.meanD*q.meanD*varK - 2*q.meanE*q.meanD*q.a*both
	e := Exponential{
		// The last step was too short to be worth another pass, and is taken all the same.
		A:  q.a + q.aSlope*s.last,
		K:  q.k * math.Exp(s.last),
		C:  q.level - q.a*q.meanE + q.cSlope*s.last,
		UA: math.Sqrt(varA), UK: math.Sqrt(varK), UC: math.Sqrt(max(varC, 0)),
		Sum: q.least, Passes: s.passes,
	}
	if !(det > 0) || !(e.UA+e.UK+e.UC < math.Inf(1)) { // units in which squares run over
		return Exponential{Sum: q.least, Passes: s.passes, Ending: Unsettled}
	}
	return e
}

// worthwhile is how many variances of the noise two more parameters must explain: scatter
// about a level does so once in 400 times.
const worthwhile = 12
