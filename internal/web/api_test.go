package web_test

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
	"boretight/internal/web"
)

type holdsPage struct {
	Schema string
	Holds  []struct{ ID string }
	Before string
}

func decode[T any](t *testing.T, w *httptest.ResponseRecorder) T {
	t.Helper()
	var v T
	require.Equal(t, http.StatusOK, w.Code, w.Body)
	require.Equal(t, "application/json", w.Header().Get("Content-Type"))
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &v), w.Body)
	return v
}

func TestSnapshotIsTheBenchs(t *testing.T) {
	f := newFake()
	f.whole(2.16, 0.022, 8, trial.Pass)
	got := decode[bench.Snapshot](t, get(t, f, "/api/v1/snapshot"))
	assert.Equal(t, f.Snapshot().Gauges[0].Setup, got.Gauges[0].Setup)
	assert.Equal(t, f.Snapshot().Gauges, got.Gauges)
	require.Len(t, got.Holds, 1)
	assert.Equal(t, f.Snapshot().Holds[0].LeakRate, got.Holds[0].LeakRate)
}

func TestSnapshotCanBeAskedForWithFewerHolds(t *testing.T) {
	f := newFake()
	for range 3 {
		f.whole(2.16, 0.022, 4, trial.Pass)
	}
	f.change(func(s *bench.Snapshot) { s.Holds[0].Gauge = "right" })
	for query, want := range map[string][]string{
		"":                    {"h3", "h2", "h1"},
		"?holds=0":            nil,
		"?holds=1":            {"h3"},
		"?holds=9":            {"h3", "h2", "h1"},
		"?gauge=left&holds=1": {"h2"},
		"?gauge=none":         nil,
	} {
		var got []string
		for _, hold := range decode[bench.Snapshot](t, get(t, f, "/api/v1/snapshot"+query)).Holds {
			got = append(got, hold.ID)
		}
		assert.Equal(t, want, got, query)
	}
}

func TestHoldsComeInPagesNewestFirst(t *testing.T) {
	f := newFake()
	for range 5 {
		f.whole(2.16, 0.022, 4, trial.Pass)
	}
	var seen []string
	path := "/api/v1/holds?limit=2"
	for before := "start"; before != ""; {
		page := decode[holdsPage](t, get(t, f, path))
		assert.Equal(t, "boretight/holds/1", page.Schema)
		for _, hold := range page.Holds {
			seen = append(seen, hold.ID)
		}
		before = page.Before
		path = "/api/v1/holds?limit=2&before=" + before
	}
	assert.Equal(t, []string{"h5", "h4", "h3", "h2", "h1"}, seen)

	assert.Equal(t, "h2", decode[bench.HoldData](t, get(t, f, "/api/v1/holds/h2")).ID)
	assert.JSONEq(t, `{"schema":"boretight/holds/1","holds":[]}`, get(t, newFake(), "/api/v1/holds").Body.String())
}

func TestRefusalsSayWhy(t *testing.T) {
	tests := map[string]struct {
		path, code string
		want       int
	}{
		"a hold that is not there":       {"/api/v1/holds/none", "no_such_hold", http.StatusNotFound},
		"after a hold that is not there": {"/api/v1/holds?before=none", "no_such_hold", http.StatusNotFound},
		"a limit that is no number":      {"/api/v1/holds?limit=all", "bad_limit", http.StatusBadRequest},
		"a limit that is too large":      {"/api/v1/holds?limit=201", "bad_limit", http.StatusBadRequest},
		"holds that are no number":       {"/api/v1/snapshot?holds=-1", "bad_holds", http.StatusBadRequest},
		"a limit of nothing":             {"/api/v1/holds?limit=0", "bad_limit", http.StatusBadRequest},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			w := get(t, newFake(), tt.path)
			assert.Equal(t, tt.want, w.Code)
			assert.Contains(t, w.Body.String(), `"code":"`+tt.code+`"`)
		})
	}
}

type brokenLedger struct{}

func (brokenLedger) Holds(context.Context, string, int) ([]bench.HoldData, error) {
	return nil, errors.New("disk on fire at /secret/path")
}

func (brokenLedger) Hold(context.Context, string) (bench.HoldData, error) {
	return bench.HoldData{}, errors.New("disk on fire at /secret/path")
}

func TestInnerFaultsGoToTheLogOnly(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), Ledger: brokenLedger{}})
	require.NoError(t, err)
	w := ask(t, site, "/api/v1/holds")
	assert.Equal(t, http.StatusInternalServerError, w.Code)
	assert.NotContains(t, w.Body.String(), "secret")
}

func TestAliveAndReady(t *testing.T) {
	f := newFake()
	assert.Equal(t, "alive\n", get(t, f, "/healthz").Body.String())
	assert.Equal(t, http.StatusOK, get(t, f, "/readyz").Code)
	f.change(func(s *bench.Snapshot) { s.Ledger.Problem = "no space left" })
	w := get(t, f, "/readyz")
	assert.Equal(t, http.StatusServiceUnavailable, w.Code)
	assert.Equal(t, "not ready: ledger: no space left\n", w.Body.String())
	assert.Equal(t, http.StatusOK, get(t, f, "/healthz").Code)
}

func TestMetricsAreServedWhenThereAreSome(t *testing.T) {
	assert.Equal(t, http.StatusNotFound, get(t, newFake(), "/metrics").Code)
	site, err := web.New(web.Options{Bench: newFake(), Metrics: http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		_, _ = w.Write([]byte("boretight_gauge_up 1\n"))
	})})
	require.NoError(t, err)
	assert.Equal(t, "boretight_gauge_up 1\n", ask(t, site, "/metrics").Body.String())
}

func TestAssetsAreAskedForAgainButNotSentTwice(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	types := map[string]string{
		"/static/app.js":    "text/javascript; charset=utf-8",
		"/static/style.css": "text/css; charset=utf-8",
		"/static/icon.svg":  "image/svg+xml",
	}
	for path, kind := range types {
		w := ask(t, site, path)
		require.Equal(t, http.StatusOK, w.Code, path)
		assert.Equal(t, kind, w.Header().Get("Content-Type"), path)
		assert.Equal(t, "no-cache", w.Header().Get("Cache-Control"), path)
		again := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
		r.Host = "localhost"
		r.Header.Set("If-None-Match", w.Header().Get("ETag"))
		site.ServeHTTP(again, r)
		assert.Equal(t, http.StatusNotModified, again.Code, path)
	}
	assert.Equal(t, http.StatusNotFound, ask(t, site, "/static/").Code)
}

func TestWhatWasReadBeforeThePageCame(t *testing.T) {
	type answer struct {
		Schema   string
		Readings []struct {
			Gauge    string
			T        float64 `json:"t_s"`
			Pressure float64 `json:"pressure_pa"`
		}
	}
	f := newFake()
	f.rest(1)
	f.draw()
	got := decode[answer](t, get(t, f, "/api/v1/readings?gauge=left"))
	assert.Equal(t, "boretight/readings/1", got.Schema)
	require.Len(t, got.Readings, 130)
	assert.Equal(t, "left", got.Readings[0].Gauge)
	assert.InDelta(t, 0.02, got.Readings[0].T, 1e-9)
	assert.Less(t, got.Readings[129].Pressure, -2000.0)
	assert.JSONEq(t, `{"schema":"boretight/readings/1","readings":[]}`, get(t, f, "/api/v1/readings?gauge=other").Body.String())
}
