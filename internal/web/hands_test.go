package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/web"
)

// stepping is a desk that only steps on, from as found to as left.
type stepping struct {
	web.Desk
	bench *fakeBench
	steps int
}

func (d *stepping) Ahead(context.Context, string) (web.Ahead, error) {
	return web.Ahead{Known: true, Next: &web.Put{Joint: "oboe/upper", When: "as_left"}}, nil
}

func (d *stepping) Step(context.Context, string) (web.Put, error) {
	d.steps++
	d.bench.change(func(s *bench.Snapshot) { s.Gauges[0].Setup.When = "as_left" })
	return web.Put{}, nil
}

// A key that is pressed twice, or a form that is sent twice, leads to the stage that it named.
func TestSteppingOnTwiceIsSteppingOnOnce(t *testing.T) {
	f := newFake()
	d := &stepping{bench: f}
	site, err := web.New(web.Options{Bench: f, Desk: d, House: utc})
	require.NoError(t, err)
	page := ask(t, site, "/").Body.String()
	assert.Contains(t, page, `name="joint" value="oboe/upper"`)
	form := url.Values{"gauge": {"left"}, "joint": {"oboe/upper"}, "when": {"as_left"}}
	for range 2 {
		w := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/bench/step", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Host = "localhost:8417"
		site.ServeHTTP(w, r)
		assert.Equal(t, http.StatusSeeOther, w.Code)
	}
	assert.Equal(t, 1, d.steps)
}
