package web

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// policy lets the page use what the program itself serves, and nothing else.
const policy = "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'"

// guard puts before next, outermost first: headers for every answer, the list of
// hosts, the token, and the refusal of writes from other sites.
func guard(next http.Handler, token string, hosts []string) http.Handler {
	next = http.NewCrossOriginProtection().Handler(next)
	next = demandToken(next, token)
	next = demandHost(next, hosts, token != "")
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		// A writer without deadlines is one of a test.
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(answerTimeout))
		next.ServeHTTP(w, r)
	})
}

// demandHost refuses requests for a host that is not ours. Without it a page
// elsewhere could have its own name resolve to this machine (DNS rebinding) and read
// everything: to the browser, host and origin then agree. Such an attack needs a
// name, so behind a token a bare address is let through: a tablet in the shop asks
// for the bench by its address.
func demandHost(next http.Handler, hosts []string, addresses bool) http.Handler {
	allowed := append([]string{"localhost", "127.0.0.1", "::1"}, hosts...)
	for i := range allowed {
		allowed[i] = hostname(allowed[i])
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := hostname(r.Host)
		ok := slices.Contains(allowed, host)
		if !ok && addresses {
			_, err := netip.ParseAddr(host)
			ok = err == nil
		}
		if !ok {
			refuse(w, http.StatusForbidden, "foreign_host",
				"this program does not answer to the name "+quoteShort(host)+": add it to the hosts in the configuration if it is yours")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// hostname returns the host of host, host:port, [v6]:port or [v6], in lower case.
func hostname(host string) string {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	return strings.ToLower(strings.TrimSuffix(host, "."))
}

// tokenCookie carries the proof that the browser once showed the token.
const tokenCookie = "boretight_token"

// tokenCookieAge is how long a browser stays let in: a month at the bench.
const tokenCookieAge = 30 * 24 * time.Hour

// demandToken lets a request in that shows the token as bearer, or has the cookie.
// ?token= in the address of a page sets the cookie and goes on to the address
// without it, so that it stays in no history. Whether the program is alive is no secret.
func demandToken(next http.Handler, token string) http.Handler {
	if token == "" {
		return next
	}
	proof := proofOf(token)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/healthz" || r.URL.Path == "/readyz" {
			next.ServeHTTP(w, r)
			return
		}
		if bearer, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok && same(bearer, token) {
			next.ServeHTTP(w, r)
			return
		}
		query := r.URL.Query()
		if r.Method == http.MethodGet && query.Has("token") && same(query.Get("token"), token) {
			http.SetCookie(w, &http.Cookie{
				Name: tokenCookie, Value: proof, Path: "/", MaxAge: int(tokenCookieAge.Seconds()),
				HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: r.TLS != nil,
			})
			query.Del("token")
			// Only path and query: an address that begins with // would leave the site.
			target := "/" + strings.TrimLeft(r.URL.EscapedPath(), "/")
			if rest := query.Encode(); rest != "" {
				target += "?" + rest
			}
			http.Redirect(w, r, target, http.StatusSeeOther)
			return
		}
		if cookie, err := r.Cookie(tokenCookie); err == nil && same(cookie.Value, proof) {
			next.ServeHTTP(w, r)
			return
		}
		w.Header().Set("WWW-Authenticate", `Bearer realm="boretight"`)
		refuse(w, http.StatusUnauthorized, "token_needed",
			"this page needs its token: add ?token= and the token that the program was told to the address, once")
	})
}

// proofOf returns what the cookie holds: enough to be let in, not the token itself.
func proofOf(token string) string {
	sum := sha256.Sum256([]byte("boretight page\x00" + token))
	return hex.EncodeToString(sum[:])
}

// same compares in a time that tells nothing, not even the length.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return subtle.ConstantTimeCompare(x[:], y[:]) == 1
}
