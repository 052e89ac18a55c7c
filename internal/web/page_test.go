package web_test

import (
	"html"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// words returns what a page says without script and markup.
func words(page string) string {
	page = regexp.MustCompile(`(?s)<head>.*</head>|<dialog.*</dialog>`).ReplaceAllString(page, "") // a dialog is not shown before it is asked for
	page = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")
	return strings.Join(strings.Fields(html.UnescapeString(page)), " ")
}

func TestPageWithoutScriptSaysTheState(t *testing.T) {
	tests := map[string]struct {
		play func(*fakeBench)
		want []string
	}{
		"no gauge": {
			func(f *fakeBench) {
				f.state(func(s *bench.StateData) { s.Up, s.Problem = false, "no such port" })
			},
			[]string{"no gauge", "no such port", "silent"},
		},
		"rest": {
			func(f *fakeBench) { f.rest(1) },
			[]string{"rest", "then draw to 2.50 to 2.88 kPa", "None yet."},
		},
		"drawing over the limit": {
			func(f *fakeBench) {
				f.phase("drawing")
				f.readings(1, func(t float64) float64 { return -6500 * min(1, t) })
				f.state(func(s *bench.StateData) { s.Warning = "over 6 kPa: let it down now" })
			},
			[]string{"too high", "kPa gauge reading", "Let it down now.", "over 6 kPa: let it down now"},
		},
		"holding": {
			func(f *fakeBench) { f.hold(2, 0.1, 7.4, trial.Inconclusive) },
			[]string{"holding 7 s", "2.00 ± 0.20 sccm", "so far", "Keep still."},
		},
		"holding, and certain": {
			func(f *fakeBench) { f.hold(2, 0.1, 7.4, trial.Pass) },
			[]string{"pass 2.00 ± 0.20 sccm", "so far", "Certain after 7 s: the valve may be opened.", "Limit 2.5 sccm"},
		},
		"a hold cut short": {
			func(f *fakeBench) { f.disturbed(4.21) },
			[]string{"up to 4.2 s, then disturbed", "A leak opened. Limits were guessed."},
		},
		"pass": {
			func(f *fakeBench) { f.whole(2.1604, 0.0221, 9, trial.Pass) },
			[]string{"pass", "2.160 ± 0.044 sccm", "95 % interval 2.117 to 2.204 sccm", "(3.916 ± 0.080) × 10⁻³ Pa·m³/s",
				"Limit 2.5 sccm at 2.50 kPa suction, P(within) > 0.999.", "Rule: pass when", "Trial of 1 hold"},
		},
		"inconclusive": {
			func(f *fakeBench) { f.whole(2.41, 0.11, 5, trial.Inconclusive) },
			[]string{"inconclusive", "2.41 ± 0.22 sccm", "To settle it: hold 12 s longer, or two more holds."},
		},
		"a slow ledger": {
			func(f *fakeBench) { f.change(func(s *bench.Snapshot) { s.Ledger.Lag = 2.34 }) },
			[]string{"ledger: recording is 2.3 s behind"},
		},
		"no copies": {
			func(*fakeBench) {},
			[]string{"ledger shop.ledger, 412 records, no copies are made"},
		},
		"a copy": {
			func(f *fakeBench) { f.copied(5*time.Hour+59*time.Minute, "") },
			[]string{"412 records, last copy 5 h ago"},
		},
		"a fresh copy": {
			func(f *fakeBench) { f.copied(59*time.Second, "") },
			[]string{"last copy just now"},
		},
		"a copy of an hour ago less a second": {
			func(f *fakeBench) { f.copied(time.Hour-time.Second, "") },
			[]string{"last copy 59 min ago"},
		},
		"copies that fail": {
			func(f *fakeBench) { f.copied(3*24*time.Hour, "the disk is full") },
			[]string{"copies of the ledger: the disk is full; last copy 3 days ago"},
		},
		"copies that failed from the start": {
			func(f *fakeBench) {
				f.change(func(s *bench.Snapshot) { s.Ledger.Copies = &bench.CopiesState{Problem: "folder x is not there"} })
			},
			[]string{"copies of the ledger: folder x is not there; no copy yet"},
		},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			f := newFake()
			tt.play(f)
			said := words(get(t, f, "/").Body.String())
			for _, want := range tt.want {
				assert.Contains(t, said, want)
			}
		})
	}
}

// copied makes the newest copy as old as told.
func (f *fakeBench) copied(age time.Duration, problem string) {
	f.change(func(s *bench.Snapshot) {
		s.Ledger.Copies = &bench.CopiesState{Newest: s.Started, Age: age.Seconds(), Kept: 14, Problem: problem}
	})
}

// What may never be: a verdict without limit and rule, a figure without ± and unit.
func TestEveryVerdictStandsWithLimitAndRule(t *testing.T) {
	f := newFake()
	f.whole(2.16, 0.022, 9, trial.Pass)
	f.whole(3.2, 0.1, 6, trial.Fail)
	f.whole(2.41, 0.11, 5, trial.Inconclusive)
	part := get(t, f, "/parts/holds").Body.String()
	rows := regexp.MustCompile(`(?s)<tbody>(.*)</tbody>`).FindStringSubmatch(part)
	require.Len(t, rows, 2)
	listed := strings.Split(strings.TrimSuffix(strings.TrimSpace(rows[1]), "</tr>"), "</tr>")
	require.Len(t, listed, 3)
	for i, want := range []string{"inconclusive 2.41 ± 0.22 sccm", "fail 3.20 ± 0.20 sccm", "pass 2.160 ± 0.044 sccm"} {
		said := words(listed[i])
		assert.Contains(t, said, want)
		assert.Contains(t, said, "2.5 sccm at 2.50 kPa suction, P(within)")
		assert.Contains(t, listed[i], `class="shape `+strings.Fields(want)[0]+`"`, "its own shape")
	}
	assert.Equal(t, 1, strings.Count(part, fakeRulePrefix), "the rule, once")
	assert.Equal(t, 3, strings.Count(part, `class="line"`), "a small tide for each hold")
}

const fakeRulePrefix = "Rule: pass when"

func TestHoldsWithoutALeakageRateSaySo(t *testing.T) {
	f := newFake()
	f.whole(2, 0.1, 5, trial.None)
	f.change(func(s *bench.Snapshot) {
		h := &s.Holds[0]
		h.LeakRate, h.SCCM, h.Decision = nil, nil, nil
		h.Notes = []string{"The valve was never shut."}
		h.Unrecorded = "no space left"
	})
	said := words(get(t, f, "/").Body.String())
	assert.Contains(t, said, "no result")
	assert.Contains(t, said, "no leakage rate")
	assert.Contains(t, said, "The valve was never shut.")
	assert.Contains(t, said, "Not in the ledger: no space left")

	f.change(func(s *bench.Snapshot) { s.Holds[0].PressureRate = &trial.Value{Value: 115.21, U: 0.43} })
	said = words(get(t, f, "/").Body.String())
	assert.Contains(t, said, "measured")
	assert.Contains(t, said, "115.21 ± 0.86 Pa/s")
}

func TestPageStandsWhateverTheBenchSays(t *testing.T) {
	f := newFake()
	f.whole(2, 0.1, 5, trial.Pass)
	f.change(func(s *bench.Snapshot) {
		s.Holds[0].SCCM.U = math.NaN()
		s.Holds[0].Trace = nil
		s.Gauges[0].Setup = bench.Setup{Bench: `<script>alert("x")</script>`, Joint: `<script>alert("y")</script>`}
	})
	w := get(t, f, "/")
	assert.Equal(t, http.StatusOK, w.Code)
	assert.NotContains(t, w.Body.String(), "<script>alert")
	assert.NotContains(t, w.Body.String(), "NaN")
	assert.Contains(t, words(w.Body.String()), "no limit set at 2.50 kPa")

	f.change(func(s *bench.Snapshot) { s.Gauges = nil })
	assert.Contains(t, words(get(t, f, "/").Body.String()), "no gauge Plug the gauge in")
}

func TestAHoldHasAPageOfItsOwn(t *testing.T) {
	f := newFake()
	f.disturbed(4.21)
	assert.Contains(t, get(t, f, "/parts/holds").Body.String(), `href="/holds/h1"`)
	w := get(t, f, "/holds/h1")
	require.Equal(t, http.StatusOK, w.Code)
	page := w.Body.String()
	said := words(page)
	for _, want := range []string{"pass up to 4.2 s, then disturbed 2.160 ± 0.044 sccm", "Limit 2.5 sccm at 2.50 kPa suction, P(within) > 0.999.",
		"Rule: pass when", "A leak opened. Limits were guessed. Limit", "Notes Much was assumed. So was this.", "volume 64 % u 0.8 %", "Do first , about volume"} {
		assert.Contains(t, said, want)
	}
	assert.Contains(t, page, `class="plot"`)
	for _, mark := range []string{"<script", " style=", "http:", "https:"} {
		assert.NotContains(t, page, mark)
	}

	missing := get(t, f, "/holds/none")
	assert.Equal(t, http.StatusNotFound, missing.Code)
	assert.Contains(t, words(missing.Body.String()), "There is no such hold.")
}

func TestAHoldWithoutAResultHasAPageToo(t *testing.T) {
	f := newFake()
	f.whole(2, 0.1, 5, trial.None)
	f.change(func(s *bench.Snapshot) {
		s.Holds[0] = bench.HoldData{Outcome: trial.Outcome{ID: "h1", Notes: []string{"The valve was never shut."}}}
	})
	w := get(t, f, "/holds/h1")
	assert.Equal(t, http.StatusOK, w.Code)
	assert.Contains(t, words(w.Body.String()), "not a hold")
	assert.Contains(t, words(w.Body.String()), "The valve was never shut.")
}

func TestAGaugeReadingNeverStandsInAFiguresPlace(t *testing.T) {
	f := newFake()
	f.whole(2, 0.1, 5, trial.Inconclusive)
	f.change(func(s *bench.Snapshot) {
		h := &s.Holds[0]
		h.LeakRate, h.SCCM = nil, nil
		h.Notes, h.Pressing = []string{"Too few readings.", "Assumed."}, 1
		s.Gauges[0].Pressure = fakeZero - 2280
	})
	said := words(get(t, f, "/").Body.String())
	assert.Contains(t, said, "inconclusive no leakage rate Too few readings. hold ended")
	assert.Contains(t, said, "· gauge reading 2.28 kPa")

	f.change(func(s *bench.Snapshot) { s.Holds[0].Hold, s.Gauges[0].Trial, s.Gauges[0].Setup.LimitSCCM = nil, nil, 0 })
	said = words(get(t, f, "/").Body.String())
	assert.Contains(t, said, "not a hold no leakage rate Too few readings. hold ended")
	assert.NotContains(t, said, "2.5 sccm at 2.50 kPa", "of what was never held nothing is asked")
	assert.NotContains(t, said, "inconclusive")
}

func TestThemeIsKeptInACookie(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), House: utc})
	require.NoError(t, err)
	for value, want := range map[string]string{"dark": `data-theme="dark"`, "light": `data-theme="light"`, "x": `<html lang="en">`} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		r.Host = "localhost"
		r.AddCookie(&http.Cookie{Name: "boretight_theme", Value: value})
		w := httptest.NewRecorder()
		site.ServeHTTP(w, r)
		assert.Contains(t, w.Body.String(), want)
	}
}

func TestCautionsStandOnThePage(t *testing.T) {
	said := words(get(t, newFake(), "/").Body.String())
	for _, want := range []string{"No mouth suction", "stay under 6 kPa", "Never shop air", "moves or creaks", "maker’s instructions",
		"does not decide that an instrument or a method is safe"} {
		assert.Contains(t, said, want)
	}
}

func TestASimulatedBenchSaysSo(t *testing.T) {
	f := newFake()
	assert.Contains(t, words(get(t, f, "/").Body.String()), "Simulated. Set up a gauge")
	for _, address := range []string{"serial:/dev/ttyACM0", "left=serial:COM5", "left=tcp:sim:4001"} {
		f.change(func(s *bench.Snapshot) { s.Gauges[0].Address = address })
		assert.NotContains(t, words(get(t, f, "/").Body.String()), "Simulated", address)
	}
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Address = "left=sim:oboe-repair?speed=6" })
	assert.Contains(t, words(get(t, f, "/").Body.String()), "Simulated")
}
