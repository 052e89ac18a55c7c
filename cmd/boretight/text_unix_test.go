//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trial"
)

// TestHoldOnAGaugeThatPrintsNumbers measures on gauges without a clock, written in
// another language, whose lines come in lumps as a USB adapter hands them over.
func TestHoldOnAGaugeThatPrintsNumbers(t *testing.T) {
	t.Parallel()
	python, err := exec.LookPath("python3")
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("python3 is not installed")
	}
	require.NoError(t, err)
	for _, c := range []struct {
		rate           int
		style, options string
	}{
		{20, "vacuum", "unit=kPa&field=2&sign=-"},
		{100, "vacuum", "unit=kPa&field=2&sign=-"},
		{100, "absolute", "unit=kPa&field=2&kind=absolute"},
	} {
		t.Run(fmt.Sprintf("%s, %d Hz", c.style, c.rate), func(t *testing.T) {
			t.Parallel()
			holdOnText(t, python, c.rate, c.style, c.options)
		})
	}
}

// holdOnText measures and checks one hold. A machine busy with other tests may stand
// still for a second, which lines without a time of their own cannot show: such a hold
// is measured again, twice at most.
func holdOnText(t *testing.T, python string, rate int, style, options string) {
	const k, volume, ambient, at = 0.05, 34.2e-6, 98300.0, 2500.0
	// q = V·dp/dt where the laminar curve passes the stated difference.
	truth := volume * k * at * (2*ambient - at) / (2 * ambient)
	var dir, ledger string
	var air []string
	var hold trial.Outcome
	for try := 1; ; try++ {
		dir = t.TempDir()
		ledger, air, hold = takeTextHold(t, dir, python, rate, style, options, k)
		if q := hold.LeakRate; try == 3 || q != nil && q.Low <= truth && truth <= q.High && hold.Hold.Ending == "vented" {
			break
		}
		t.Logf("measured again: %v", hold.Notes)
	}
	require.NotNil(t, hold.LeakRate, "%v", hold.Notes)
	t.Logf("q/q_true = %.4f, u = %.2f %%, lost %d", hold.LeakRate.Value/truth, 100*hold.LeakRate.U/truth, hold.Hold.Lost)
	assert.LessOrEqual(t, hold.LeakRate.Low, truth)
	assert.GreaterOrEqual(t, hold.LeakRate.High, truth)
	assert.Equal(t, "suction", hold.Sign)
	assert.Equal(t, "vented", hold.Hold.Ending)
	assert.Contains(t, hold.Notes, "The gauge has no clock: its readings were timed by their arrival, evened out. Unit, sign and kind of its pressures are as its address says.")
	if style == "absolute" {
		assert.Contains(t, hold.Notes, "The ambient pressure is the gauge's own at rest: 98.30 kPa.")
	}
	// What was kept can be given out and fitted again, to the same.
	file := filepath.Join(dir, "hold.csv")
	start(t, programPath(t), "export", "--hold", hold.ID, "--ledger", ledger, "--out", file).wait()
	require.FileExists(t, file)
	var again trial.Outcome
	p := start(t, programPath(t), append([]string{"fit", "--json", file}, air...)...)
	require.NoError(t, json.Unmarshal([]byte(p.line(20*time.Second)), &again))
	require.NotNil(t, again.LeakRate, "%v", again.Notes)
	assert.InDelta(t, hold.LeakRate.Value, again.LeakRate.Value, 0.5*hold.LeakRate.U)
}

// takeTextHold has the program measure a hold on a gauge of its own in dir, and returns
// its ledger, what it was told of joint and room, and what it said.
func takeTextHold(t *testing.T, dir, python string, rate int, style, options string, k float64) (ledger string, air []string, hold trial.Outcome) {
	t.Helper()
	link := filepath.Join(dir, "port")
	startPythonGauge(t, python, "testdata/textgauge.py", "--link", link, "--k", fmt.Sprint(k),
		"--rate", fmt.Sprint(rate), "--style", style, "--seed", fmt.Sprint(rate))
	ledger = filepath.Join(dir, "l.boretight")
	air = []string{"--volume", "34.2ml", "--volume-u", "0.1ml", "--bore", "0.5mm", "--temperature", "22.5C", "--limit", "2.5sccm", "--span-u", "0"}
	if style != "absolute" {
		air = append(air, "--ambient", "98.3kPa") // an absolute gauge knows it
	}
	args := []string{"hold", "--gauge", "serial:" + link + "?dialect=text&" + options, "--ledger", ledger, "--json"}
	p := start(t, programPath(t), append(args, air...)...)
	require.NoError(t, json.Unmarshal([]byte(p.line(60*time.Second)), &hold))
	p.wait()
	return ledger, air, hold
}
