package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/trial"
)

func TestWhatIsSaidOfTwoHoldsThatDiffer(t *testing.T) {
	const wide = "From two holds their scatter is hardly known, so the interval is wide; a third narrows it."
	for name, c := range map[string]struct {
		apart, own, common float64
		want               []string
	}{
		// Noise of 1e-5 each lets them differ by 2·√2·1e-5 = 2.83e-5 by chance.
		"as much as noise explains, volume well known": {2e-5, 1e-5, 4e-5, nil},
		// With nothing in common, the scatter has one degree of freedom and decides.
		"as much as noise explains, nothing in common": {2e-5, 1e-5, 0, []string{wide}},
		"more than noise, less than the volume's doubt": {6e-5, 1e-5, 8e-5, []string{
			"The two holds agree within their uncertainty, 1.5 % apart; that they scatter more than their noise alone would is in the result.",
		}},
		// u is √(1e-5² + 1e-4²) = 1.005e-4 each.
		"more than the whole uncertainty of each": {2e-4, 1e-5, 1e-4, []string{
			"The two holds differ by 5 %, more than noise and zero explain and more than the standard uncertainty of each: look at what was not alike. " + wide,
		}},
		"the same": {0, 1e-5, 0, nil},
	} {
		t.Run(name, func(t *testing.T) {
			got := combine([]trial.Outcome{
				stated(4e-3-c.apart/2, c.own, c.common, many, 0), stated(4e-3+c.apart/2, c.own, c.common, many, 0),
			}, 0)
			if c.want == nil {
				assert.Empty(t, got.Notes)
				return
			}
			assert.Equal(t, c.want, got.Notes)
		})
	}
	third := combine([]trial.Outcome{stated(4e-3, 1e-5, 0, many, 0), stated(4.2e-3, 1e-5, 0, many, 0), stated(4.1e-3, 1e-5, 0, many, 0)}, 0)
	assert.Empty(t, third.Notes, "three holds have a scatter of their own")
}
