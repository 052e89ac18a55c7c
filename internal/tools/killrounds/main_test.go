//go:build unix

package main

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMain makes the test binary the child as well.
func TestMain(m *testing.M) {
	if os.Getenv(childVariable) != "" {
		main()
		return
	}
	os.Exit(m.Run())
}

func TestAKillLosesAtMostTheLastSecond(t *testing.T) {
	self, err := os.Executable()
	require.NoError(t, err)
	var out strings.Builder
	err = run(t.Context(), []string{self}, 3, 7, &out)
	t.Log("\n" + out.String())
	require.NoError(t, err)
	assert.Equal(t, 3, strings.Count(out.String(), " ok\n"))
}

func TestListenTakesACutLine(t *testing.T) {
	said, err := listen(strings.NewReader("pushed a 100 10\npushed a 100 20\nacknowledged a 100 20\npushed b 1000 5\npushed b 10"))
	require.NoError(t, err)
	assert.Equal(t, map[string]hold{"a": {100, 20, true}, "b": {1000, 5, false}}, said)
	_, err = listen(strings.NewReader("error disk full\n"))
	assert.ErrorContains(t, err, "disk full")
}
