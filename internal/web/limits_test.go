package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/ledger"
	"boretight/internal/quantity"
	"boretight/internal/trial"
	"boretight/internal/web"
)

func TestLimitsAreListedWithWhatTheyAreOf(t *testing.T) {
	rate, err := quantity.ParseLeakRate("2.5sccm")
	require.NoError(t, err)
	b := &fakeBooks{limits: []ledger.Limit{{Joint: "oboe/upper", Closure: "all <keys> closed", At: 2500, Sign: "suction", Rate: rate, Set: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}}}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/limits").Body.String()
	for _, want := range []string{"oboe/upper", "all &lt;keys&gt; closed", "2.5 sccm", "in suction", "2.50 kPa", "2 Mar 2026"} {
		assert.Contains(t, page, want)
	}
	site, _ = bookSite(t, b, quantity.Units{Pressure: "mbar", Flow: "Pa·m³/s"})
	page = ask(t, site, "/limits").Body.String()
	assert.Contains(t, page, "2.5 sccm", "as it was set: what it is in mPa·m³/s hangs on the temperature of the gas")
	assert.NotContains(t, page, "4.531 mPa·m³/s")
	assert.Contains(t, page, "25.0 mbar")
}

func TestALimitIsSetInTheShopsUnit(t *testing.T) {
	tests := map[string]struct {
		units quantity.Units
		rate  string
		want  float64 // Pa·m³/s at 20 °C
	}{
		"a bare number in sccm":        {quantity.Units{}, "2,5", 4.531e-3},
		"a bare number in mPa·m³/s":    {quantity.Units{Flow: "Pa·m³/s"}, "4.5", 4.5e-3},
		"as the page itself writes it": {quantity.Units{Flow: "Pa·m³/s"}, "4.5 mPa·m³/s", 4.5e-3},
		"a bare number in cm³/min":     {quantity.Units{Flow: "cm³/min"}, "2.5", 2.5e-6 / 60 * 101325},
		"with a unit of its own":       {quantity.Units{Flow: "cm³/min"}, "2.5 sccm", 4.531e-3},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			b := &fakeBooks{}
			site, _ := bookSite(t, b, test.units)
			w := post(t, site, "/limits", "joint", "oboe/upper", "closure", "all keys closed", "sign", "suction", "at", "2.5 kPa", "rate", test.rate)
			require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
			require.Len(t, b.limits, 1)
			assert.InEpsilon(t, test.want, float64(b.limits[0].Rate.At(quantity.FromCelsius(20))), 1e-3)
			assert.InDelta(t, 2500, b.limits[0].At, 1e-9)
		})
	}
}

// At 1000 m a volume of air holds a tenth less of it.
func TestALimitInVolumesCountsInTheRoomToldAtTheBench(t *testing.T) {
	f := newFake()
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.Ambient, s.Gauges[0].Setup.Limit = 90e3, 2.5e-6/60*90e3 })
	b := &fakeBooks{}
	house := func() web.House { return web.House{Units: quantity.Units{Flow: quantity.RoomFlow}} }
	site, err := web.New(web.Options{Bench: f, Ledger: b, Desk: b, House: house})
	require.NoError(t, err)
	looks, err := web.New(web.Options{Bench: f, House: house})
	require.NoError(t, err)
	w := post(t, site, "/limits", "joint", "oboe/upper", "closure", "", "sign", "suction", "at", "2.5 kPa", "rate", "2.5")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	require.Len(t, b.limits, 1)
	assert.InEpsilon(t, 2.5e-6/60*90e3, float64(b.limits[0].Rate.At(quantity.FromCelsius(20))), 1e-9)
	assert.Contains(t, words(ask(t, site, "/limits").Body.String()), "2.5 cm³/min told as")
	assert.Contains(t, words(ask(t, looks, "/").Body.String()), "limit 2.5 cm³/min", "the same figure at the bench")
}

func TestARefusedLimitKeepsWhatWasTyped(t *testing.T) {
	tests := map[string]struct{ field, value string }{
		"no joint":                  {"joint", "oboe"},
		"no rate":                   {"rate", "<much>"},
		"a rate of nothing":         {"rate", "0"},
		"a pressure out of reach":   {"at", "50 kPa"},
		"a pressure in other terms": {"at", "deep"},
	}
	for name, test := range tests {
		t.Run(name, func(t *testing.T) {
			b := &fakeBooks{}
			site, _ := bookSite(t, b, quantity.Units{})
			told := map[string]string{"joint": "oboe/upper", "sign": "suction", "at": "2.5 kPa", "rate": "2.5"}
			told[test.field] = test.value
			var pairs []string
			for k, v := range told {
				pairs = append(pairs, k, v)
			}
			w := post(t, site, "/limits", pairs...)
			require.Equal(t, http.StatusUnprocessableEntity, w.Code)
			_, beside, ok := strings.Cut(w.Body.String(), `id="field-`+test.field+`"`)
			require.True(t, ok)
			beside, _, _ = strings.Cut(beside, `class="field`)
			assert.Contains(t, beside, `class="fault"`)
			assert.NotContains(t, w.Body.String(), "<much>")
			assert.Empty(t, b.limits, "nothing was recorded")
		})
	}
}

func TestALimitIsProposedFromTheShopsOwnJoints(t *testing.T) {
	b := &fakeBooks{proposed: &web.ProposedLimit{Proposal: trial.Proposal{Limit: 4.5e-3, Sentence: "Nine of ten joints like these meet it.", Method: "tolerance limit"}}}
	site, _ := bookSite(t, b, quantity.Units{})
	page := ask(t, site, "/limits?propose=yes&joint=oboe/upper&sign=suction&at=2.5+kPa").Body.String()
	assert.Contains(t, page, "Nine of ten joints like these meet it.")
	assert.Contains(t, page, "no playable limit is published; yours to choose")
	assert.Contains(t, page, `value="2.483 sccm"`, "4.5e-3/(1.68875e-3·293.15/273.15) sccm, ready to be set")
	assert.Empty(t, b.limits, "nothing is set by a proposal")

	b.proposed = nil
	page = ask(t, site, "/limits?propose=yes&joint=oboe/upper&sign=suction&at=2.5+kPa").Body.String()
	assert.Contains(t, page, "3 joints are too few")
}

func TestALimitOfAJointThatTheCatalogHasNotIsSetAndSaid(t *testing.T) {
	site, _ := bookSite(t, &fakeBooks{}, quantity.Units{})
	w := post(t, site, "/limits", "joint", "oboe/uper", "sign", "suction", "at", "2.5 kPa", "rate", "2 sccm")
	require.Equal(t, http.StatusSeeOther, w.Code, w.Body)
	text := words(ask(t, site, strings.TrimSuffix(w.Header().Get("Location"), "#list")).Body.String())
	assert.Contains(t, text, "The limit is set. The catalog has no joint oboe/uper (nearest: oboe/upper, ")
	w = post(t, site, "/limits", "joint", "oboe/upper", "sign", "suction", "at", "2.5 kPa", "rate", "2 sccm")
	assert.Equal(t, "/limits#list", w.Header().Get("Location"))
	assert.NotContains(t, ask(t, site, "/limits?unheard=oboe/upper").Body.String(), "The catalog has no joint")
}

func TestALimitWithoutAFigureSaysWhatIsAskedFor(t *testing.T) {
	site, _ := bookSite(t, &fakeBooks{}, quantity.Units{})
	w := post(t, site, "/limits", "joint", "oboe/upper", "sign", "suction", "at", "2.5 kPa", "rate", "")
	require.Equal(t, http.StatusUnprocessableEntity, w.Code)
	assert.Contains(t, words(w.Body.String()), "Say how much may leak, such as 2.5 sccm.")
}
