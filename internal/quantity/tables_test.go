package quantity_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
)

func TestNoSpellingMeansTwoUnits(t *testing.T) {
	spellings, shown, hinted := quantity.Spellings()
	require.Len(t, spellings, 7)
	for dimension, all := range spellings {
		sorted := slices.Sorted(slices.Values(all))
		assert.Equal(t, len(all), len(slices.Compact(sorted)), "%s: %v", dimension, sorted)
		for _, s := range shown[dimension] {
			assert.Contains(t, all, s, "%s prints in a unit it does not have", dimension)
		}
		for _, s := range hinted[dimension] {
			assert.NotContains(t, all, s, "%s refuses a unit it has", dimension)
		}
	}
}
