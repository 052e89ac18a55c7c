package main

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOursFindsTheCurveBehindTheReadings(t *testing.T) {
	for _, even := range []bool{false, true} {
		r := newReadings(1000, even, 1)
		got, err := ours(r, 0.5, 3)
		require.NoError(t, err, r)
		assert.InEpsilon(t, trueK, got.k, 1e-3, r) // about 3 standard uncertainties
		assert.Len(t, got.micros, 3)
	}
}

func TestReadingsOnAGridAreEvenlySpaced(t *testing.T) {
	r := newReadings(100, true, 1)
	for i := range 99 {
		assert.InDelta(t, seconds/100, r.t[i+1]-r.t[i], 1e-12)
	}
}

// script is a rival of a few lines of shell, run by name.
func script(t *testing.T, body string) rival {
	t.Helper()
	if runtime.GOOS == "windows" {
		t.Skip("there is no shell")
	}
	file := filepath.Join(t.TempDir(), "rival.sh")
	require.NoError(t, os.WriteFile(file, []byte(body), 0o600))
	return rival{"sh", file}
}

func TestARivalIsReadByItsNameParametersAndTimes(t *testing.T) {
	got, err := script(t, "echo Rival 1; echo 2500 0.25 15; echo 3.5; echo 4.5").fit("none", 0.5, 2)
	require.NoError(t, err)
	assert.Equal(t, timed{name: "Rival 1", a: 2500, k: 0.25, c: 15, micros: []float64{3.5, 4.5}}, got)
}

func TestARivalThatSaysLessIsAnError(t *testing.T) {
	for body, want := range map[string]string{
		"exit 3":                         "exit status 3",
		"echo Rival 1; echo 2500 x":      "read what Rival 1 found",
		"echo R; echo 1 2 3; echo 4":     "told 1 times, want 2",
		"echo R; echo 1 2 3; echo quick": "read a time of R",
	} {
		_, err := script(t, body).fit("none", 0.5, 2)
		assert.ErrorContains(t, err, want, body)
	}
}

func TestAnotherKIsAnError(t *testing.T) {
	r := newReadings(1000, true, 1)
	off := script(t, "echo Rival 1; echo 2500 0.2501 15; echo 3.5")
	assert.ErrorContains(t, compare(t.TempDir(), r, []rival{off}, options{repeats: 1, k: 0.5}), "Rival 1 finds k = 0.2501")
}

func TestWhatIsNotInstalledIsSaid(t *testing.T) {
	found, missing := findRivals(t.TempDir(), options{cc: "no-such-compiler", python: "no-such-python"})
	assert.Empty(t, found)
	require.Len(t, missing, 2)
	assert.Contains(t, missing[0], "libgsl-dev")
	assert.Contains(t, missing[1], "python3-scipy")
}
