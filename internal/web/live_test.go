package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// message is one server-sent event as it was read.
type message struct{ id, event, data string }

// parse reads all events of a stream that has ended.
func parse(t *testing.T, stream string) []message {
	t.Helper()
	var all []message
	var m message
	lines := bufio.NewScanner(strings.NewReader(stream))
	lines.Buffer(nil, 1<<22)
	for lines.Scan() {
		name, value, _ := strings.Cut(lines.Text(), ": ")
		switch name {
		case "id":
			m.id = value
		case "event":
			m.event = value
		case "data":
			m.data = value
		case "":
			if m.event != "" {
				all = append(all, m)
			}
			m = message{}
		}
	}
	require.NoError(t, lines.Err())
	return all
}

// stream is a reader's end of a live stream within the process. Writes wait for the
// gate when there is one.
type stream struct {
	http.ResponseWriter // a recorder, for the header
	gate                chan struct{}
	started             chan struct{}

	mu   sync.Mutex
	text strings.Builder
	once sync.Once
}

func newStream(gate chan struct{}) *stream {
	return &stream{ResponseWriter: httptest.NewRecorder(), gate: gate, started: make(chan struct{})}
}

func (s *stream) Write(p []byte) (int, error) {
	s.once.Do(func() { close(s.started) })
	if s.gate != nil {
		<-s.gate
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *stream) FlushError() error { return nil }

func (s *stream) all() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// listenTo opens the live stream of b and returns it with a function that waits for its end.
func listenTo(t *testing.T, ctx context.Context, b web.Bench, gate chan struct{}, change func(*http.Request)) (*stream, func()) {
	t.Helper()
	site, err := web.New(web.Options{Bench: b})
	require.NoError(t, err)
	r := httptest.NewRequestWithContext(ctx, http.MethodGet, "/api/v1/live", nil)
	r.Host = "localhost"
	if change != nil {
		change(r)
	}
	s := newStream(gate)
	var done sync.WaitGroup
	done.Go(func() { site.ServeHTTP(s, r) })
	<-s.started
	return s, done.Wait
}

func TestLiveStreamCarriesEventsWithTheirNumbers(t *testing.T) {
	f := newFake()
	s, wait := listenTo(t, t.Context(), f, nil, nil)
	f.Publish(bench.EventReading, bench.ReadingData{Gauge: "left", Readings: []bench.Sample{{T: 1.5, Pressure: -20}, {T: 1.51, Pressure: -21}}})
	f.Publish(bench.EventState, bench.StateData{Gauge: "left", Up: true, Phase: "drawing", Since: 1.5})
	f.Publish(bench.EventHold, bench.HoldData{Outcome: outcome(2.16, 0.022, trial.Pass, 1, 9)})
	f.Publish(bench.EventTrial, bench.TrialData{Gauge: "left", Trial: trial.Trial{Holds: 1}})
	f.Close()
	wait()

	all := parse(t, s.all())
	require.Len(t, all, 4)
	assert.Equal(t, message{"1", "reading", `[{"gauge":"left","t_s":1.5,"pressure_pa":-20},{"gauge":"left","t_s":1.51,"pressure_pa":-21}]`}, all[0])
	assert.Equal(t, message{"2", "state", `{"gauge":"left","up":true,"phase":"drawing","since_s":1.5,"rest_level_pa":0,"series":0}`}, all[1])
	assert.Equal(t, "3", all[2].id)
	assert.Equal(t, "hold", all[2].event)
	assert.Contains(t, all[2].data, `"verdict":"pass"`)
	assert.Equal(t, "trial", all[3].event)
	assert.Equal(t, "text/event-stream", s.Header().Get("Content-Type"))
}

func TestLiveStreamGoesOnAfterTheLastEventSeen(t *testing.T) {
	tests := map[string]struct {
		ask   func(*http.Request)
		first string
		gap   string
	}{
		"by header":               {func(r *http.Request) { r.Header.Set("Last-Event-ID", "67") }, "68", ""},
		"by address":              {func(r *http.Request) { r.URL.RawQuery = "after=67" }, "68", ""},
		"with what is lost told":  {func(r *http.Request) { r.URL.RawQuery = "after=3" }, "70", `{"missed":3,"thinned":0}`},
		"from an earlier program": {func(r *http.Request) { r.URL.RawQuery = "after=900" }, "71", `{"missed":1,"thinned":0}`},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				f := newFake()
				for range 70 { // six more than are kept
					f.Publish(bench.EventTrial, trial.Trial{})
				}
				s, wait := listenTo(t, t.Context(), f, nil, tt.ask)
				synctest.Wait()
				f.Publish(bench.EventTrial, trial.Trial{})
				f.Close()
				wait()
				all := parse(t, s.all())
				if tt.gap != "" {
					assert.Equal(t, message{"", "gap", tt.gap}, all[0])
					all = all[1:]
				}
				require.NotEmpty(t, all)
				assert.Equal(t, tt.first, all[0].id)
				assert.Equal(t, "71", all[len(all)-1].id)
			})
		})
	}
	t.Run("a number that is none is refused", func(t *testing.T) {
		w := get(t, newFake(), "/api/v1/live?after=soon")
		assert.Equal(t, http.StatusBadRequest, w.Code)
		assert.Contains(t, w.Body.String(), "want the number of an event")
	})
}

func TestSlowReaderGetsCoarserEventsAndIsTold(t *testing.T) {
	f := newFake()
	gate := make(chan struct{})
	s, wait := listenTo(t, t.Context(), f, gate, nil)
	// All this happens while the first write is stuck.
	const batches, each = 400, 10
	spike := 0
	for i := range batches {
		samples := make([]bench.Sample, each)
		for j := range samples {
			samples[j] = bench.Sample{T: float64(i*each+j) / 100, Pressure: -100}
			if i == 300 && j == 4 {
				samples[j].Pressure = -5000
				spike = i
			}
		}
		f.Publish(bench.EventReading, bench.ReadingData{Gauge: "left", Readings: samples})
		if i%100 == 99 {
			f.Publish(bench.EventState, bench.StateData{Gauge: "left", Since: float64(i)})
			f.Publish(bench.EventHold, bench.HoldData{})
		}
	}
	require.Equal(t, 300, spike)
	f.Close()
	close(gate)
	wait()

	all := parse(t, s.all())
	require.Equal(t, "gap", all[0].event)
	var gap struct{ Missed, Thinned int }
	require.NoError(t, json.Unmarshal([]byte(all[0].data), &gap))
	assert.Equal(t, batches+8-256, gap.Missed, "all but what waits was lost, and counted")
	assert.Positive(t, gap.Thinned)

	kinds := map[string]int{}
	last := 0
	for _, m := range all[1:] {
		kinds[m.event]++
		id, err := strconv.Atoi(m.id)
		require.NoError(t, err)
		assert.Greater(t, id, last, "numbers only rise")
		last = id
		if m.event == "reading" {
			var readings []struct {
				T        float64 `json:"t_s"`
				Pressure float64 `json:"pressure_pa"`
			}
			require.NoError(t, json.Unmarshal([]byte(m.data), &readings))
			assert.LessOrEqual(t, len(readings), 400)
			lowest, before := 0.0, math.Inf(-1)
			for _, r := range readings {
				assert.Greater(t, r.T, before)
				before, lowest = r.T, min(lowest, r.Pressure)
			}
			assert.Equal(t, -5000.0, lowest, "no spike is hidden")
		}
	}
	assert.Equal(t, map[string]int{"reading": 1, "state": 1, "hold": 3}, kinds,
		"readings joined, the latest state, each hold that was not lost")
}

func TestSilenceIsFilledWithHeartbeats(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		f := newFake()
		ctx, cancel := context.WithCancel(t.Context())
		s, wait := listenTo(t, ctx, f, nil, nil)
		time.Sleep(3500 * time.Millisecond) // of the bubble's clock
		cancel()
		wait()
		all := parse(t, s.all())
		require.Len(t, all, 3)
		assert.Equal(t, message{"", "heartbeat", "{}"}, all[0])
	})
}

func TestWhatCannotBeSaidInJSONIsLeftOut(t *testing.T) {
	f := newFake()
	s, wait := listenTo(t, t.Context(), f, nil, nil)
	f.Publish(bench.EventState, bench.StateData{Since: math.NaN()})
	f.Publish(bench.EventTrial, trial.Trial{})
	f.Close()
	wait()
	all := parse(t, s.all())
	require.Len(t, all, 1)
	assert.Equal(t, "2", all[0].id)
}

// The contract of a stream read over a real connection.
func TestLiveStreamOverTheWire(t *testing.T) {
	f := newFake()
	site := serve(t, f, "127.0.0.1:0")
	answer, err := http.Get("http://" + site.address + "/api/v1/live")
	require.NoError(t, err)
	defer answer.Body.Close()
	lines := bufio.NewScanner(answer.Body)
	require.True(t, lines.Scan())
	assert.Equal(t, "retry: 500", lines.Text())
	f.Publish(bench.EventTrial, trial.Trial{})
	var got []string
	for lines.Scan() && len(got) < 2 {
		if lines.Text() != "" {
			got = append(got, lines.Text())
		}
	}
	assert.Equal(t, []string{"id: 1", "event: trial"}, got)
	site.stop() // asserts that Serve returns nil with the stream still open
}
