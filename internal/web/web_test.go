package web_test

import (
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"boretight/internal/web"
)

// get asks a site of b for a path, as a browser on the same machine would.
func get(t *testing.T, b web.Bench, path string) *httptest.ResponseRecorder {
	t.Helper()
	site, err := web.New(web.Options{Bench: b, Version: "test", House: utc})
	require.NoError(t, err)
	return ask(t, site, path)
}

func ask(t *testing.T, site http.Handler, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
	r.Host = "localhost:8417"
	site.ServeHTTP(w, r)
	return w
}

// utc is a shop that sees its times in UTC.
func utc() web.House { return web.House{Location: time.UTC} }
