package web_test

import (
	"encoding/json"
	"net/http"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// knownRig is a rig of which something of each state is on record.
func knownRig() bench.RigState {
	from := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	item := func(kind rig.Kind, state rig.State, figure, u float64) bench.RigItem {
		return bench.RigItem{Kind: kind, State: state, ID: "r-" + string(kind), ValidFrom: from, ValidUntil: from.AddDate(1, 0, 0), Figure: &trial.Value{Value: figure, U: u}}
	}
	s := bench.RigState{
		Gauge: "left", Rig: rig.Identity{Gauge: "HX-0417", Hose: "clear 4 mm"},
		Known: []bench.RigItem{
			item(rig.KindCalibration, rig.Overdue, 1.0021, 0.0004), item(rig.KindVolume, rig.Holds, 34.2e-6, 0.3e-6),
			item(rig.KindBlank, rig.Changed, 1.81e-4, 9.1e-6), item(rig.KindCheck, rig.Failed, -0.0123, 0.004),
			{Kind: rig.KindProof, State: rig.Missing, Says: "Rig not proven: measure a reference leak on three rigid bottles."},
		},
		Worth: []string{"Check the rig.", "Rig not proven."},
	}
	s.Known[0].Says = "The calibration is overdue."
	s.Known[1].Of, s.Known[1].ValidUntil = "oboe/upper", time.Time{}
	s.Known[2].Sign = "suction"
	s.Known[3].Of = "RL-7"
	return s
}

func withRigs(rigs ...bench.RigState) *fakeBench {
	f := newFake()
	f.change(func(s *bench.Snapshot) { s.Rigs = rigs })
	return f
}

func TestThePageSaysWhatIsKnownOfTheRig(t *testing.T) {
	page := get(t, withRigs(knownRig()), "/").Body.String()
	said := words(page)
	for _, want := range []string{
		"Rig gauge HX-0417, hose clear 4 mm",
		"overdue calibration span × 1.00210 ± 0.00080 from 2 Mar 2026 until 2 Mar 2027 The calibration is overdue.",
		"holds volume of oboe/upper 34.20 ± 0.60 ml from 2 Mar 2026 no date due",
		"changed blank in suction 0.100 ± 0.010 sccm at 20 °C from",
		"failed check with RL-7 −1.23 ± 0.80 % off from",
		"missing proof Rig not proven: measure",
		"± is the expanded uncertainty U (k = 2).",
	} {
		assert.Contains(t, said, want)
	}
	assert.Regexp(t, `shape fail" .*(\n.*)*failed`, page, "a shape beside the word")
	assert.NotContains(t, get(t, newFake(), "/").Body.String(), `class="rig"`, "nothing was looked at")
}

func TestACheckThatSaysNothingIsNotCalledFailed(t *testing.T) {
	s := knownRig()
	s.Trusted = true // only what was found wrong takes the trust away
	assert.Contains(t, words(get(t, withRigs(s), "/").Body.String()), "says nothing check with RL-7")
}

func TestEachOfTwoRigsHasItsGauge(t *testing.T) {
	right := knownRig()
	right.Gauge, right.Unnamed, right.Rig = "right", true, rig.Identity{Gauge: "right"}
	said := words(get(t, withRigs(knownRig(), right), "/parts/rig").Body.String())
	assert.Contains(t, said, "Rig of left gauge HX-0417")
	assert.Contains(t, said, "Rig of right gauge right (it gave no serial number)")
}

// What a rig makes a verdict worth stands beside it, and not where there is none.
func TestTheRigsSentencesStandBesideAVerdict(t *testing.T) {
	const beside = `href="#rig">Check the rig. Rig not proven.</a>`
	f := withRigs(knownRig())
	f.rest(1)
	assert.NotContains(t, get(t, f, "/").Body.String(), beside)
	f.whole(2.16, 0.022, 9, trial.Pass)
	assert.Contains(t, get(t, f, "/").Body.String(), beside)
	f.change(func(s *bench.Snapshot) { s.Rigs[0].Gauge = "right" })
	assert.NotContains(t, get(t, f, "/").Body.String(), beside, "the rig of another gauge")
	f.change(func(s *bench.Snapshot) { s.Rigs[0].Gauge, s.Rigs[0].Worth = "left", nil })
	assert.Contains(t, get(t, f, "/").Body.String(), `<p id="worth" hidden>`)
}

func TestTheRigsAreToldAsJSON(t *testing.T) {
	var got struct {
		Schema string           `json:"schema"`
		Rigs   []bench.RigState `json:"rigs"`
	}
	w := get(t, withRigs(knownRig()), "/api/v1/rig")
	require.Equal(t, http.StatusOK, w.Code)
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &got))
	assert.Equal(t, "boretight/standing/1", got.Schema)
	assert.Equal(t, []bench.RigState{knownRig()}, got.Rigs)
	assert.JSONEq(t, `{"schema":"boretight/standing/1","rigs":[]}`, get(t, newFake(), "/api/v1/rig").Body.String())
}

func TestTheLivePageFollowsTheRig(t *testing.T) {
	ctx := browser(t)
	f := withRigs(knownRig())
	f.whole(2.16, 0.022, 9, trial.Pass)
	site := serve(t, f, "127.0.0.1:0")
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+site.address+"/")))
	until(t, ctx, listening)
	until(t, ctx, `!document.getElementById("worth").hidden && document.getElementById("worth").innerText.trim() === "Check the rig. Rig not proven."`)
	proven := knownRig()
	proven.Worth = nil
	proven.Known[4] = bench.RigItem{Kind: rig.KindProof, State: rig.Holds, Figure: &trial.Value{Value: 0.42}, Of: "RL-7"}
	f.change(func(s *bench.Snapshot) { s.Rigs = []bench.RigState{proven} })
	until(t, ctx, `document.getElementById("worth").hidden && document.getElementById("rig").innerText.includes("largest |En| 0.42")`)
}
