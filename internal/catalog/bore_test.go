package catalog_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
)

// withBore is a joint of a given bore in TOML.
func withBore(t *testing.T, bore, to string) catalog.Joint {
	t.Helper()
	text := fmt.Sprintf(`
instrument = "pipe"
title = "Pipe"
system = "none"
[[joint]]
name = "only"
bore = [%s]
end = [
  { name = "top", at = "0 mm", closed-by = "stopper" },
  { name = "bottom", at = "%s", closed-by = "stopper" },
]
section = [{ name = "middle", from = "50 mm", to = "150 mm" }]
`, bore, to)
	c, err := catalog.Catalog{}.Edit("pipe.toml", []byte(text))
	require.NoError(t, err)
	return joint(t, c, "pipe/only")
}

func TestHeatDiameterOfATaper(t *testing.T) {
	t.Parallel()
	j := withBore(t, `{ length = "235 mm", from = "4.8 mm", to = "10.6 mm" }`, "235 mm")
	// For a straight taper from a to b, ∫Dⁿdx = L(bⁿ⁺¹ − aⁿ⁺¹)/((n+1)(b − a)).
	a, b := 4.8e-3, 10.6e-3
	mean := func(n float64) float64 { return (math.Pow(b, n+1) - math.Pow(a, n+1)) / ((n + 1) * (b - a)) }
	assert.InEpsilon(t, math.Sqrt(mean(4)/mean(2)), float64(j.HeatDiameter()), 1e-12)
	v, err := j.Volume()
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/4*0.235*mean(2), v.Value, 1e-12)
}

func TestATaperCutInTwoIsTheSameBore(t *testing.T) {
	t.Parallel()
	whole := withBore(t, `{ length = "200 mm", from = "6 mm", to = "14 mm" }`, "200 mm")
	cut := withBore(t, `{ length = "50 mm", from = "6 mm", to = "8 mm" }, { length = "150 mm", from = "8 mm", to = "14 mm" }`, "200 mm")
	assert.InEpsilon(t, float64(whole.HeatDiameter()), float64(cut.HeatDiameter()), 1e-12)
	for _, j := range []catalog.Joint{whole, cut} {
		v, err := j.SectionVolume(j.Sections[0])
		require.NoError(t, err)
		assert.InEpsilon(t, math.Pi*0.1/12*(64+8*12+144)*1e-6, v.Value, 1e-12, "a frustum from 8 to 12 mm over 100 mm")
		assert.InDelta(t, 10e-3, float64(j.DiameterAt(0.1)), 1e-12)
		assert.InDelta(t, 14e-3, float64(j.DiameterAt(0.3)), 1e-12, "beyond the end")
	}
}

func TestAJointWithoutABoreHasNoVolume(t *testing.T) {
	t.Parallel()
	_, err := catalog.Joint{}.Volume()
	require.Error(t, err)
	_, err = catalog.NewSheet(catalog.Instrument{Name: "none"}, catalog.Joint{Name: "only"})
	require.ErrorContains(t, err, "none/only")
}
