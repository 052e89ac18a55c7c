package web

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// policy lets the page use what the program itself serves, and nothing else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; font-src 'self'; " +
	"manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// permissions forbid what no page of ours asks for, so that nothing that gets into one
// can ask for it either. The gauge's port is the program's affair, not the browser's.
const permissions = "accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), hid=(), " +
	"magnetometer=(), microphone=(), midi=(), payment=(), serial=(), usb=()"

// guard puts before next, outermost first: headers for every answer, the list of
// hosts, the token, the refusal of writes from other sites, and limits of what is sent.
func guard(next http.Handler, token string, hosts hostList) http.Handler {
	next = limitBody(next)
	next = http.NewCrossOriginProtection().Handler(next)
	next = demandToken(next, token)
	next = demandHost(next, hosts)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Permissions-Policy", permissions)
		h.Set("X-Content-Type-Options", "nosniff")
		// Not no-referrer: the browser would then say "null" for the origin of our own
		// forms, and one that sends no Sec-Fetch-Site beside it would be taken for foreign.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		// A writer without deadlines is one of a test.
		_ = http.NewResponseController(w).SetWriteDeadline(time.Now().Add(answerTimeout))
		next.ServeHTTP(w, r)
	})
}

// hostList is the names under which the site may be asked for.
type hostList struct {
	names []string // in lower case, without port
	// addresses lets every bare address through as well.
	addresses bool
}

// newHostList returns the names of loopback and those told. A page elsewhere could have
// its own name resolve to this machine (DNS rebinding) and read everything: to the
// browser, host and origin then agree. Such an attack needs a name, so behind a token a
// bare address is let through: a tablet in the shop asks for the bench by its address.
func newHostList(hosts []string, token string) hostList {
	l := hostList{names: append([]string{"localhost", "127.0.0.1", "::1"}, hosts...), addresses: token != ""}
	for i := range l.names {
		l.names[i] = hostname(l.names[i])
	}
	return l
}

// has reports whether a request may be for that host, with a port or without.
func (l hostList) has(host string) bool {
	host = hostname(host)
	if slices.Contains(l.names, host) {
		return true
	}
	_, err := netip.ParseAddr(host)
	return err == nil && l.addresses
}

// demandHost refuses requests for a host that is not ours.
func demandHost(next http.Handler, hosts hostList) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !hosts.has(r.Host) {
			refuse(w, http.StatusForbidden, "foreign_host",
				"this program does not answer to the name "+quoteShort(hostname(r.Host))+": add it to the hosts in the configuration if it is yours")
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
		// Nor is the style, in which the token is asked for.
		if r.URL.Path == "/healthz" || r.URL.Path == "/readyz" || strings.HasPrefix(r.URL.Path, "/static/") && strings.HasSuffix(r.URL.Path, ".css") {
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
		if strings.Contains(r.Header.Get("Accept"), "text/html") {
			askToken(w, query.Has("token"))
			return
		}
		w.Header().Set("WWW-Authenticate", `Bearer realm="boretight"`)
		refuse(w, http.StatusUnauthorized, "token_needed",
			"this page needs its token: add ?token= and the token that the program was told to the address, once")
	})
}

// askToken asks a person for the token.
func askToken(w http.ResponseWriter, wrong bool) {
	says := "This bench is served to those only who know its token. It was told to the program as it was started."
	if wrong {
		says = "That token is wrong. Look at how it was told to the program: letters, figures and capitals count."
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(http.StatusUnauthorized)
	_, _ = fmt.Fprintf(w, tokenPage, says) // fails only when the reader has gone
}

const tokenPage = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>Token · Boretight</title>
<link rel="stylesheet" href="/static/style.css">
<link rel="stylesheet" href="/static/pages.css">
</head>
<body class="page">
<header><p class="name">Boretight</p></header>
<main>
<h1>Token</h1>
<p>%s</p>
<form class="asked" method="get" action="/">
<div class="field"><label for="token">Token</label><input id="token" name="token" type="password" autocomplete="current-password" autofocus></div>
<div class="actions wide"><button class="main">Go to the bench</button></div>
</form>
</main>
</body>
</html>
`

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
