package catalog_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/catalog"
)

func TestTheNearestNamesOfAJointAreTold(t *testing.T) {
	known, err := catalog.Templates()
	require.NoError(t, err)
	assert.Equal(t, "oboe/upper", known.Near("oboe/uper", 3)[0])
	assert.Equal(t, "oboe/lower", known.Near("obo/lower", 3)[0], "a letter of the instrument is missing")
	near := known.Near("oboe/x", 2)
	require.Len(t, near, 2)
	for _, name := range near {
		assert.Contains(t, name, "oboe/", "the instrument's own come first")
	}
	assert.Empty(t, catalog.Catalog{}.Near("oboe/upper", 3))
}
