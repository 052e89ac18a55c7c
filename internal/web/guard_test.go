package web_test

import (
	"crypto/tls"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/web"
)

const secret = "correct-horse-battery"

func request(t *testing.T, o web.Options, change func(*http.Request)) *httptest.ResponseRecorder {
	t.Helper()
	o.Bench = newFake()
	site, err := web.New(o)
	require.NoError(t, err)
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/api/v1/snapshot", nil)
	r.Host = "127.0.0.1:8417"
	change(r)
	w := httptest.NewRecorder()
	site.ServeHTTP(w, r)
	return w
}

func TestHostMustBeOurs(t *testing.T) {
	tests := map[string]struct {
		host    string
		options web.Options
		want    int
	}{
		"loopback by address":                     {"127.0.0.1:8417", web.Options{}, http.StatusOK},
		"loopback by name, in capitals":           {"LOCALHOST:8417", web.Options{}, http.StatusOK},
		"loopback by version 6 address":           {"[::1]:8417", web.Options{}, http.StatusOK},
		"without a port":                          {"localhost", web.Options{}, http.StatusOK},
		"a foreign name":                          {"evil.example:8417", web.Options{}, http.StatusForbidden},
		"a name that only begins like ours":       {"localhost.evil.example", web.Options{}, http.StatusForbidden},
		"no name at all":                          {"", web.Options{}, http.StatusForbidden},
		"a configured name":                       {"bench.shop:8417", web.Options{Hosts: []string{"Bench.shop"}}, http.StatusOK},
		"another address, without a token":        {"192.0.2.7:8417", web.Options{}, http.StatusForbidden},
		"a foreign name is refused before tokens": {"evil.example", web.Options{Token: secret}, http.StatusForbidden},
		"another address, behind a token":         {"192.0.2.7:8417", web.Options{Token: secret}, http.StatusUnauthorized},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			w := request(t, tt.options, func(r *http.Request) { r.Host = tt.host })
			assert.Equal(t, tt.want, w.Code, w.Body)
		})
	}
}

func TestTokenIsDemanded(t *testing.T) {
	o := web.Options{Token: secret}
	t.Run("nothing without it", func(t *testing.T) {
		for _, path := range []string{"/", "/api/v1/snapshot", "/api/v1/live", "/static/app.js", "/metrics", "/nowhere"} {
			w := request(t, o, func(r *http.Request) { r.URL.Path = path })
			assert.Equal(t, http.StatusUnauthorized, w.Code, path)
			assert.NotContains(t, w.Body.String(), secret)
		}
	})
	t.Run("not with a wrong one", func(t *testing.T) {
		w := request(t, o, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+secret+"x") })
		assert.Equal(t, http.StatusUnauthorized, w.Code)
		w = request(t, o, func(r *http.Request) { r.URL.RawQuery = "token=wrong" })
		assert.Equal(t, http.StatusUnauthorized, w.Code)
		w = request(t, o, func(r *http.Request) { r.AddCookie(&http.Cookie{Name: "boretight_token", Value: secret}) })
		assert.Equal(t, http.StatusUnauthorized, w.Code, "the token itself is not what the cookie holds")
	})
	t.Run("as bearer", func(t *testing.T) {
		w := request(t, o, func(r *http.Request) { r.Header.Set("Authorization", "Bearer "+secret) })
		assert.Equal(t, http.StatusOK, w.Code)
	})
	t.Run("once in the address, then by cookie", func(t *testing.T) {
		w := request(t, o, func(r *http.Request) { r.URL.Path, r.URL.RawQuery = "/", "token="+secret+"&a=b" })
		require.Equal(t, http.StatusSeeOther, w.Code)
		assert.Equal(t, "/?a=b", w.Header().Get("Location"), "the token leaves the address")
		cookies := w.Result().Cookies()
		require.Len(t, cookies, 1)
		assert.True(t, cookies[0].HttpOnly)
		assert.Equal(t, http.SameSiteLaxMode, cookies[0].SameSite)
		assert.False(t, cookies[0].Secure, "over plain http")
		assert.NotContains(t, cookies[0].Value, secret)

		w = request(t, o, func(r *http.Request) { r.AddCookie(cookies[0]) })
		assert.Equal(t, http.StatusOK, w.Code)
	})
	t.Run("in the cookie only, at a bare address of the shop's network", func(t *testing.T) {
		lan := func(r *http.Request) { r.URL.Path, r.Host, r.TLS = "/", "192.168.1.20:8417", &tls.ConnectionState{} }
		w := request(t, o, lan)
		require.Equal(t, http.StatusUnauthorized, w.Code)
		w = request(t, o, func(r *http.Request) { lan(r); r.URL.RawQuery = "token=" + secret })
		cookies := w.Result().Cookies()
		require.Len(t, cookies, 1)
		assert.True(t, cookies[0].Secure, "it never goes over plain http")
		w = request(t, o, func(r *http.Request) { lan(r); r.AddCookie(cookies[0]) })
		assert.Equal(t, http.StatusOK, w.Code)
	})
	t.Run("the way on never leaves the site", func(t *testing.T) {
		w := request(t, o, func(r *http.Request) { r.URL.Path, r.URL.RawQuery = "//evil.example/", "token="+secret })
		assert.Equal(t, "/evil.example/", w.Header().Get("Location"))
	})
	t.Run("being alive is no secret", func(t *testing.T) {
		w := request(t, o, func(r *http.Request) { r.URL.Path = "/healthz" })
		assert.Equal(t, http.StatusOK, w.Code)
	})
}

func TestWritesFromOtherSitesAreRefused(t *testing.T) {
	// Where a write is let through there is nothing to write, which the answer says.
	const allowed = http.StatusMethodNotAllowed
	for name, c := range map[string]struct {
		host, header, value string
		want                int
	}{
		"by a browser that says from where":               {"", "Sec-Fetch-Site", "cross-site", http.StatusForbidden},
		"from another port of this machine":               {"", "Sec-Fetch-Site", "same-site", http.StatusForbidden},
		"by an older browser":                             {"", "Origin", "http://evil.example", http.StatusForbidden},
		"from another port, by an older browser":          {"", "Origin", "http://127.0.0.1:9999", http.StatusForbidden},
		"from a page that hides where it is":              {"", "Origin", "null", http.StatusForbidden},
		"from a name that was pointed at us":              {"evil.example:8417", "Origin", "http://evil.example:8417", http.StatusForbidden},
		"from such a name, by a browser that is deceived": {"evil.example:8417", "Sec-Fetch-Site", "same-origin", http.StatusForbidden},
		"but not those of the page itself":                {"", "Sec-Fetch-Site", "same-origin", allowed},
		"nor those of the page in an older browser":       {"", "Origin", "http://127.0.0.1:8417", allowed},
		"nor those of no browser":                         {"", "User-Agent", "curl", allowed},
	} {
		t.Run(name, func(t *testing.T) {
			w := request(t, web.Options{}, func(r *http.Request) {
				r.Method = http.MethodPost
				r.Header.Set(c.header, c.value)
				if c.host != "" {
					r.Host = c.host
				}
			})
			assert.Equal(t, c.want, w.Code, w.Body)
		})
	}
}

func TestACookieAloneDoesNotLetOtherSitesWrite(t *testing.T) {
	o := web.Options{Token: secret}
	let := request(t, o, func(r *http.Request) { r.URL.Path, r.URL.RawQuery = "/", "token="+secret })
	require.Len(t, let.Result().Cookies(), 1)
	cookie := let.Result().Cookies()[0]
	post := func(host string, header ...string) int {
		return request(t, o, func(r *http.Request) {
			r.Method, r.Host = http.MethodPost, host
			r.AddCookie(cookie)
			r.Header.Set(header[0], header[1])
		}).Code
	}
	assert.Equal(t, http.StatusForbidden, post("192.168.1.20:8417", "Sec-Fetch-Site", "cross-site"))
	assert.Equal(t, http.StatusForbidden, post("192.168.1.20:8417", "Origin", "https://evil.example"))
	assert.Equal(t, http.StatusForbidden, post("evil.example:8417", "Sec-Fetch-Site", "same-origin"))
	assert.Equal(t, http.StatusMethodNotAllowed, post("192.168.1.20:8417", "Sec-Fetch-Site", "same-origin"), "the tablet's own page")
}

func TestAnswersCarryTheirHeaders(t *testing.T) {
	for _, path := range []string{"/", "/static/app.js", "/api/v1/snapshot", "/nowhere"} {
		h := request(t, web.Options{}, func(r *http.Request) { r.URL.Path = path }).Header()
		policy := h.Get("Content-Security-Policy")
		assert.True(t, strings.HasPrefix(policy, "default-src 'none';"), path)
		for _, demanded := range []string{"script-src 'self'", "style-src 'self'", "form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
			assert.Contains(t, policy, demanded, path)
		}
		assert.NotContains(t, policy, "unsafe", path)
		assert.NotContains(t, policy, "*", path)
		assert.Contains(t, h.Get("Permissions-Policy"), "camera=()", path)
		assert.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		assert.Equal(t, "same-origin", h.Get("Referrer-Policy"), "%s: with no-referrer, our own forms would come from an origin of null", path)
		assert.Empty(t, h.Get("Access-Control-Allow-Origin"), path)
	}
}

func TestAPersonWithoutTheTokenIsAskedForIt(t *testing.T) {
	site, err := web.New(web.Options{Bench: newFake(), Token: "a-token-of-length"})
	require.NoError(t, err)
	asPerson := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, nil)
		r.Host = "localhost:8417"
		r.Header.Set("Accept", "text/html,*/*")
		site.ServeHTTP(w, r)
		return w
	}
	w := asPerson("/tickets")
	assert.Equal(t, http.StatusUnauthorized, w.Code)
	assert.Contains(t, w.Body.String(), `name="token"`)
	assert.NotContains(t, w.Body.String(), "wrong")
	assert.NotContains(t, w.Body.String(), "oboe", "nothing of the bench")
	assert.Contains(t, asPerson("/?token=guessed").Body.String(), "That token is wrong.")
	assert.Equal(t, http.StatusOK, asPerson("/static/style.css").Code)
	assert.Equal(t, http.StatusSeeOther, asPerson("/?token=a-token-of-length").Code)
}
