package trial_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

func TestCriticalValuesAreThePublishedOnes(t *testing.T) {
	// ISO 5725-2:1994, table 5, one largest or smallest (of two sides): 1 % and 5 %.
	for n, c := range map[int][2]float64{
		3: {1.155, 1.155}, 4: {1.496, 1.481}, 5: {1.764, 1.715}, 6: {1.973, 1.887},
		7: {2.139, 2.020}, 8: {2.274, 2.126}, 9: {2.387, 2.215}, 10: {2.482, 2.290},
	} {
		assert.InDelta(t, c[0], trial.GrubbsCritical(n, 0.005), 0.001, "1 %%, n = %d", n)
		assert.InDelta(t, c[1], trial.GrubbsCritical(n, 0.025), 0.001, "5 %%, n = %d", n)
	}
	// NIST/SEMATECH e-Handbook 1.3.5.17.1: uranium isotopes; one-sided, 5 %.
	g, i := trial.Grubbs([]float64{199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57})
	assert.InDelta(t, 2.4687, g, 0.0001)
	assert.Equal(t, 7, i)
	assert.InDelta(t, 2.032, trial.GrubbsCritical(8, 0.05), 0.0006)
}

// valued are holds of these leakage rates, each with its own doubt of 1e-5.
func valued(values ...float64) (all []trial.Outcome) {
	for _, v := range values {
		all = append(all, stated(v, 1e-5, 2e-5, many, 0))
	}
	return all
}

func TestAHoldFarFromTheOthersIsShownAndCounts(t *testing.T) {
	all := valued(4.00e-3, 4.02e-3, 3.99e-3, 4.60e-3)
	all[3].ID = "18ab"
	c := combine(all, 0)
	require.Len(t, c.Outliers, 1)
	o := c.Outliers[0]
	assert.Equal(t, "18ab", o.ID)
	assert.Equal(t, 4, o.Place)
	assert.InDelta(t, 4.60e-3-4.00333e-3, o.Deviation, 1e-7)
	assert.Greater(t, o.G, o.Critical)
	assert.Contains(t, c.Notes, o.Reason)
	assert.Contains(t, o.Reason, "Hold 18ab differs from the mean of the others by +15 %")
	assert.Equal(t, 4, c.Used, "it is not dropped")
	assert.Greater(t, c.LeakRate.Value, 4.1e-3)
	assert.Greater(t, c.LeakRate.U, 1e-4, "and its distance is in the uncertainty")
}

func TestHoldsThatAreNotOutliers(t *testing.T) {
	for name, all := range map[string][]trial.Outcome{
		"two holds, however far apart":                     valued(4e-3, 5e-3),
		"three that are spread evenly":                     valued(3.9e-3, 4e-3, 4.1e-3),
		"one strange beside its twins, but within its own": valued(4e-3, 4e-3, 4.001e-3),
		"all the same": valued(4e-3, 4e-3, 4e-3),
	} {
		assert.Empty(t, combine(all, 0).Outliers, name)
	}
}

func TestPlacesCountHoldsThatWereNotUsed(t *testing.T) {
	all := valued(4.00e-3, 4.02e-3, 3.99e-3, 4.00e-3, 4.60e-3)
	all[1].LeakRate = nil
	c := combine(all, 0)
	require.Len(t, c.Outliers, 1)
	assert.Equal(t, 5, c.Outliers[0].Place)
	assert.Contains(t, c.Outliers[0].Reason, "Hold 5 ")
}
