package web_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/quantity"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// throughputs is a shop that reads leakage rates in Pa·m³/s and lives at UTC+3.
func throughputs() web.House {
	return web.House{Units: quantity.Units{Flow: quantity.ThroughputFlow}, Location: time.FixedZone("", 3*3600)}
}

func TestTheRigIsToldInTheShopsUnits(t *testing.T) {
	site, err := web.New(web.Options{Bench: withRigs(knownRig()), House: throughputs})
	require.NoError(t, err)
	for _, path := range []string{"/", "/parts/rig", "/rig"} {
		said := words(ask(t, site, path).Body.String())
		assert.Contains(t, said, "0.181 ± 0.018 mPa·m³/s", path)
		assert.NotContains(t, said, "sccm at", path)
	}
}

func TestCautionsAreToldInTheShopsUnits(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), House: func() web.House { return web.House{Units: quantity.Units{Pressure: quantity.InchesOfWater}} }})
	require.NoError(t, err)
	assert.Contains(t, words(ask(t, site, "/").Body.String()), "stay under 24 inH2O.")
	assert.Contains(t, words(ask(t, site, "/setup/build").Body.String()), "A relief at 24 inH2O")
	said := words(ask(t, site, "/cautions").Body.String())
	assert.Contains(t, said, "40 inH2O lift a pad")
	assert.Contains(t, said, "It warns above 24 inH2O")
	assert.NotContains(t, said, "kPa")
}

func TestAComparisonIsToldInTheShopsUnits(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), Ledger: twoTrials(t), House: throughputs})
	require.NoError(t, err)
	said := words(ask(t, site, "/compare?found=found&left=left").Body.String())
	assert.Contains(t, said, "As left, the joint is 5.83 times tighter than as found (95 % interval 5.64 to 6.03): 12.69 ± 0.51 mPa·m³/s as found, 2.175 ± 0.087 mPa·m³/s as left.")
	assert.NotContains(t, said, "sccm")
}

func TestAJointThatLeaksMoreAsLeftIsNotCalledTighter(t *testing.T) {
	said := words(ask(t, siteOf(t, twoTrials(t), nil), "/compare?found=left&left=found").Body.String())
	assert.Contains(t, said, "change 5.83 times leakier 95 % interval 5.64 to 6.03")
	assert.NotContains(t, said, "less")
}

// The script writes times as the program does, also where browser and machine differ.
func TestTheScriptLearnsHowFarTheClockIsAhead(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), House: throughputs})
	require.NoError(t, err)
	var got struct {
		House struct {
			Offset int `json:"utc_offset_s"`
		} `json:"house"`
	}
	require.NoError(t, json.Unmarshal(ask(t, site, "/api/v1/snapshot").Body.Bytes(), &got))
	assert.Equal(t, 3*3600, got.House.Offset)
}

func TestAVerdictAmongTheGaugesHasItsLimitAndRule(t *testing.T) {
	f := newFake()
	f.whole(3.2, 0.1, 6, trial.Fail)
	f.change(func(s *bench.Snapshot) {
		s.Gauges = append([]bench.GaugeState{{Name: "right", StateData: bench.StateData{Gauge: "right", Up: true, Phase: "rest"}}}, s.Gauges...)
	})
	page := get(t, f, "/?gauge=right").Body.String()
	assert.Contains(t, words(page), "fail 3.20 ± 0.20 sccm limit 2.5 sccm")
	assert.Contains(t, page, fakeRulePrefix)
}

func TestOddNamesLeadToTheirTicket(t *testing.T) {
	f := newFake()
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.Ticket = "2026/17?" })
	assert.Contains(t, get(t, f, "/").Body.String(), `href="/tickets/2026%2F17%3F"`)
}
