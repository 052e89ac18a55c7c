package web_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/web"
)

// deadlines is a writer that notes the deadlines set for reading.
type deadlines struct {
	*httptest.ResponseRecorder
	read []time.Time
}

func (d *deadlines) SetReadDeadline(t time.Time) error {
	d.read = append(d.read, t)
	return nil
}

func TestABodyMustComeInTime(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), Metrics: http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		_, err := io.Copy(io.Discard, r.Body)
		assert.NoError(t, err)
	})})
	require.NoError(t, err)
	ask := func(body io.Reader) []time.Time {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/metrics", body)
		r.Host = "localhost:8417"
		w := &deadlines{ResponseRecorder: httptest.NewRecorder()}
		before := time.Now()
		site.ServeHTTP(w, r)
		require.Equal(t, http.StatusOK, w.Code)
		for _, d := range w.read[:min(1, len(w.read))] {
			assert.WithinRange(t, d, before, time.Now().Add(10*time.Second))
		}
		return w.read
	}
	assert.Empty(t, ask(nil), "a request without a body is not timed: a live stream lasts")
	read := ask(strings.NewReader("a=b"))
	require.Len(t, read, 2)
	assert.True(t, read[1].IsZero(), "when all is there, the deadline is lifted")
}
