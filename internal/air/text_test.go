package air_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
)

func TestSignIsAWordInJSON(t *testing.T) {
	for _, sign := range []air.Sign{air.Suction, air.Pressure, 0} {
		text, err := json.Marshal(sign)
		require.NoError(t, err)
		assert.JSONEq(t, `"`+sign.String()+`"`, string(text))
		var back air.Sign
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, sign, back)
	}
	var s air.Sign
	require.ErrorContains(t, json.Unmarshal([]byte(`"up"`), &s), "want suction")
}
