package config_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
)

func TestAValidityReadsBack(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]time.Duration{
		"12h": 12 * time.Hour, "30d": 720 * time.Hour, "365d": 8760 * time.Hour, "2w": 336 * time.Hour, "never": 0, " 1 D ": 24 * time.Hour,
	} {
		var v, again config.Validity
		require.NoError(t, v.UnmarshalText([]byte(text)), text)
		assert.Equal(t, want, time.Duration(v), text)
		require.NoError(t, again.UnmarshalText([]byte(v.String())), v.String())
		assert.Equal(t, v, again)
	}
}

func TestAValidityIsRefused(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"", "30", "d", "-3d", "0d", "1.5d", "9999999999999999d", "3 months"} {
		var v config.Validity
		require.ErrorContains(t, v.UnmarshalText([]byte(text)), "30d", "%q", text)
	}
}

func TestWhatIsValidForGoodIsNeverDue(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	assert.True(t, config.Validity(0).Until(now).IsZero())
	assert.Equal(t, now.Add(48*time.Hour), config.Validity(48*time.Hour).Until(now))
}
