package config_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
	"boretight/internal/quantity"
)

func TestAVolumeThatIsUnusualForAJointIsQuestioned(t *testing.T) {
	t.Parallel()
	for told, want := range map[string]string{
		"34.2l":    "A volume of 34.2 l is unusual for a joint: did you mean 34.2 ml?",
		"10.01l":   "A volume of 10.01 l is unusual for a joint: did you mean 10.01 ml?",
		"0.0342m3": "A volume of 34.2 l is unusual for a joint: did you mean 34.2 ml?",
		"0.26ml":   "A volume of 0.26 ml is unusual for a joint: did you mean 260 ml?",
		"1ml":      "",
		"34.2ml":   "",
		"10l":      "", // a contrabassoon is not far from it
	} {
		t.Run(told, func(t *testing.T) {
			t.Parallel()
			volume, err := quantity.ParseVolume(told)
			require.NoError(t, err)
			spread, err := quantity.ParseSpread[quantity.Volume]("1%")
			require.NoError(t, err)
			m := config.Measure{Volume: &volume, VolumeU: &spread}
			require.NoError(t, m.Validate(), "it is never refused")
			doubts := m.Doubts()
			if want == "" {
				assert.Empty(t, doubts)
				return
			}
			require.Len(t, doubts, 1)
			assert.Contains(t, doubts[0], want)
		})
	}
}
