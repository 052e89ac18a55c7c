package web_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/web"
)

func TestAHoldSaysWhatItsFitWasToldAndByWhom(t *testing.T) {
	holds := measuredHolds(t, 1)
	const record = "019ab8c2-7d3e-7a52-9f10-3b5c1e8a4d27"
	holds[0].Repeat = &bench.Repeat{
		Agreement: bench.Differs, Why: "zero: recorded 1, now 2",
		Told: bench.Told{Method: decay.Method,
			Fit: decay.Setup{Volume: decay.Input{Value: 34.2e-6, U: 0.17e-6}, Ambient: decay.Input{Value: 98300, U: 100}, Bore: decay.Input{Value: 9e-3, U: 0.25e-3}, SpanU: -1},
			Rig: map[string]bench.ToldRig{"suction": {Volume: record}},
		},
	}
	holds[0].Rig = []rig.Record{{ID: record, Kind: rig.KindVolume, ValidFrom: holds[0].Ended,
		Volume: &rig.Volume{Result: rig.Result{Measured: rig.Measured{Value: 34.2e-6, U: 0.17e-6}}}}}
	holds[0].Decision.From = "told for the measurement"
	page := ask(t, siteOf(t, &fakeRecords{holds: holds}, nil), "/holds/h001").Body.String()
	text := words(page)
	for _, want := range []string{"volume 34.20 ± 0.34 ml record 019ab8c2-7d3e", "ambient pressure 98.30 ± 0.20 kPa told", "temperature the gauge’s own, else 20 ± 10 °C not told: taken",
		"bore 9.00 ± 0.50 mm told", "stated at 2.50 kPa told", "span of the gauge × 1.000 ± 0.040 not told: taken", "rig’s own leak none taken off no blank",
		"volume of 2 Mar 2026 34.20 ± 0.34 ml", "differs from what was recorded (method " + decay.Method + "): zero: recorded 1, now 2",
		"Where the limit comes from: told for the measurement."} {
		assert.Contains(t, text, want)
	}
	assert.Contains(t, page, `href="/rig#`+record+`"`)
}

func TestRecordsAreShownInTheShopsUnits(t *testing.T) {
	holds := measuredHolds(t, 1)
	site, err := web.New(web.Options{Bench: newFake(), Ledger: &fakeRecords{holds: holds, slip: shopSlip(t, 1)}, House: func() web.House {
		return web.House{Units: quantity.Units{Pressure: quantity.Millibars, Flow: quantity.ThroughputFlow}}
	}})
	assert.NoError(t, err)
	assert.Contains(t, words(ask(t, site, "/holds").Body.String()), "3.915 ± 0.080 mPa·m³/s")
	assert.Contains(t, words(ask(t, site, "/holds").Body.String()), "at 25.0 mbar")
	assert.Contains(t, ask(t, site, "/holds/h001").Body.String(), ", mbar<")
	slip := words(ask(t, site, "/print/slip/T-1001").Body.String())
	assert.Contains(t, slip, "leakage rate in mPa·m³/s")
	assert.NotContains(t, slip, "sccm")
}
