package main

import (
	"log/slog"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/rig"
)

// measuredRig is what might be on record of the simulated oboe's rig since an hour.
func measuredRig() []rig.Record {
	id := rig.Identity{Gauge: "SIM-OBOE-UPPER", Hose: "blue"}
	since := time.Now().Add(-time.Hour)
	until := since.AddDate(1, 0, 0)
	return []rig.Record{
		{Kind: rig.KindCalibration, Rig: id, ValidFrom: since, ValidUntil: until,
			Calibration: &rig.Calibration{Span: rig.Result{Measured: rig.Measured{Value: 1.002, U: 0.001}}}},
		{Kind: rig.KindBlank, Rig: id, ValidFrom: since, ValidUntil: until,
			Blank: &rig.Blank{LeakRate: rig.Result{Measured: rig.Measured{Value: 2.5e-5, U: 1e-6}}, Sign: air.Suction, At: 2500, Rig: id}},
		{Kind: rig.KindCheck, Rig: id, ValidFrom: since, ValidUntil: until, Leak: "RL-7",
			Check: &rig.Watch{State: rig.OutOfControl, Says: "Check the rig: it drifted.",
				Newest: rig.Checked{Deviation: rig.Measured{Value: 0.125, U: 0.01}}}},
	}
}

// TestServeTellsOfTheRig looks at page, API and metrics of a bench that knows nothing of
// its rig, and then learns while it runs what another command has recorded.
func TestServeTellsOfTheRig(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "shop.boretight")
	p := start(t, programPath(t), "serve", "--listen", "127.0.0.1:0", "--ledger", path, "--bench", "bench 1",
		"--gauge", "upper=sim:oboe-upper", "--hose", "blue")
	address := p.line(10 * time.Second)
	ours := regexp.MustCompile(`(?m)^boretight_(?:rig|reference|calibration)_.*$`)
	assert.Empty(t, ours.FindString(get(t, address+"metrics")), "nothing is on record")
	assert.Contains(t, get(t, address), "Rig not proven: measure a reference leak on three rigid bottles.")

	book, err := openBook(t.Context(), path, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	for _, r := range measuredRig() {
		_, err := keepRig(t.Context(), book.store, r)
		require.NoError(t, err)
	}
	require.NoError(t, book.close())

	var metrics string
	require.Eventually(t, func() bool {
		metrics = get(t, address+"metrics")
		return len(ours.FindAllString(metrics, -1)) == 3
	}, 30*time.Second, 100*time.Millisecond, "it is never told of")
	assert.Contains(t, metrics, `boretight_rig_blank_leak_rate_pascal_cubic_meters_per_second{bench="bench 1",gauge="upper"} 2.5e-05`)
	assert.Contains(t, metrics, `boretight_reference_leak_deviation_ratio{bench="bench 1",gauge="upper"} 0.125`)
	assert.Regexp(t, `boretight_calibration_age_seconds\{gauge="upper"\} 36\d\d`, metrics)
	problems, err := promlint.New(strings.NewReader(metrics)).Lint()
	require.NoError(t, err)
	for _, found := range problems {
		assert.True(t, strings.HasPrefix(found.Metric, "boretight_gauge_"), "%s: %s", found.Metric, found.Text)
	}

	standing := get(t, address+"api/v1/rig")
	assert.Contains(t, standing, `{"schema":"boretight/standing/1","rigs":[{"gauge":"upper","rig":{"gauge":"SIM-OBOE-UPPER","hose":"blue"`)
	assert.Contains(t, standing, `"proven":false,"trusted":false,"worth":["Check the rig.","Rig not proven."]`)
	assert.Contains(t, get(t, address), "Check the rig: it drifted.")
}

func TestACalibrationIsFoundAsItStands(t *testing.T) {
	t.Parallel()
	all := measuredRig()
	due := all[0].ValidUntil
	for name, c := range map[string]struct {
		at    time.Time
		gauge string
		holds bool
		says  string
	}{
		"in its time":           {at: time.Now(), gauge: "SIM-OBOE-UPPER", holds: true},
		"a week before its end": {at: due.AddDate(0, 0, -7), gauge: "SIM-OBOE-UPPER", holds: true, says: "is due on"},
		"a week after it":       {at: due.AddDate(0, 0, 7), gauge: "SIM-OBOE-UPPER", says: "is overdue since"},
		"of another gauge":      {at: time.Now(), gauge: "other"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			found, says := calibration(all, c.gauge, c.at)
			assert.Equal(t, c.holds, found != nil)
			assert.Contains(t, says, c.says)
			assert.Equal(t, c.says == "", says == "")
		})
	}
}
