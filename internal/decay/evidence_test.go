package decay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// In one dimension the Bayes factor has a closed form: a reading m with the standard
// deviation σ is normal with variance σ² + s²u² under a prior of scale s.
func TestEvidenceIsTheBayesFactorOfALinearModel(t *testing.T) {
	const sigma, u, wider = 0.3, 0.2, 5.0
	for _, m := range []float64{0, 0.4, -1.1, 3} {
		precision := 1/(sigma*sigma) + 1/(u*u)
		g := gauss{mean: []float64{7, m / (sigma * sigma) / precision}, cov: []float64{1, 0, 0, 1 / precision}}
		logDensity := func(variance float64) float64 { return -m*m/(2*variance) - math.Log(variance)/2 }
		want := logDensity(sigma*sigma+wider*wider*u*u) - logDensity(sigma*sigma+u*u)
		assert.InDelta(t, want, g.linearEvidence([]int{1}, []float64{u}, wider), 1e-9, "m = %g", m)
	}
}

// Two independent parameters add their evidence.
func TestEvidenceOfIndependentParametersAdds(t *testing.T) {
	g := gauss{mean: []float64{0.1, -0.3}, cov: []float64{0.01, 0, 0, 0.02}}
	u := []float64{0.2, 0.3}
	sum := g.linearEvidence([]int{0}, u[:1], 4) + g.linearEvidence([]int{1}, u[1:], 4)
	assert.InDelta(t, sum, g.linearEvidence([]int{0, 1}, u, 4), 1e-9)
	assert.NotZero(t, sum)
}
