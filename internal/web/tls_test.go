package web_test

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"boretight/internal/web"
	"boretight/internal/web/certificate"
)

// secured is a site at work, off loopback as to what it demands.
type secured struct {
	address string // HOST:PORT on loopback
	client  *http.Client
	site    *web.Site
	log     *bytes.Buffer // to be read after end
	end     func()
}

// serveTLS serves a site of a bench to others.
func serveTLS(t *testing.T, change func(*web.Options)) *secured {
	t.Helper()
	made, err := certificate.Make(certificate.Names{Hosts: []string{"localhost"}, Addresses: []netip.Addr{netip.MustParseAddr("127.0.0.1")}}, time.Now())
	require.NoError(t, err)
	s := &secured{log: &bytes.Buffer{}}
	o := web.Options{Bench: newFake(), Token: secret, TLS: certificate.Config(made), Logger: slog.New(slog.NewTextHandler(s.log, nil))}
	if change != nil {
		change(&o)
	}
	site, err := web.New(o)
	require.NoError(t, err)
	s.site = site
	listener, err := net.Listen("tcp4", "0.0.0.0:0")
	require.NoError(t, err)
	_, port, err := net.SplitHostPort(listener.Addr().String())
	require.NoError(t, err)
	s.address = net.JoinHostPort("127.0.0.1", port)
	trusted := x509.NewCertPool()
	trusted.AddCert(made.Leaf)
	s.client = &http.Client{
		Transport:     &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trusted}, ForceAttemptHTTP2: true},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- site.Serve(ctx, listener) }()
	s.end = func() {
		cancel()
		s.client.CloseIdleConnections()
		assert.NoError(t, <-ended)
	}
	return s
}

// ask asks as a client that knows the token.
func (s *secured) ask(t *testing.T, method, address string, body io.Reader) *http.Response {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), method, address, body)
	require.NoError(t, err)
	r.Header.Set("Authorization", "Bearer "+secret)
	answer, err := s.client.Do(r)
	require.NoError(t, err)
	return answer
}

func TestOthersAreServedOverTLS(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s := serveTLS(t, nil)
	answer := s.ask(t, http.MethodGet, "https://"+s.address+"/", nil)
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Contains(t, string(page), "<html")
	require.NotNil(t, answer.TLS)
	assert.Equal(t, s.site.Fingerprint(), certificate.Fingerprint(tls.Certificate{Certificate: [][]byte{answer.TLS.PeerCertificates[0].Raw}}))
	assert.GreaterOrEqual(t, answer.TLS.Version, uint16(tls.VersionTLS12))
	assert.Empty(t, answer.Header.Get("Strict-Transport-Security"), "with a certificate that nobody vouches for, it would lock people out")

	live := s.ask(t, http.MethodGet, "https://"+s.address+"/api/v1/live", nil)
	defer live.Body.Close()
	line, err := bufio.NewReader(live.Body).ReadString('\n')
	require.NoError(t, err)
	assert.Equal(t, "retry: 500\n", line, "the stream flows under TLS")
	s.end()
	assert.Empty(t, s.log.String())
}

func TestAPlainRequestIsShownTheWay(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s := serveTLS(t, nil)
	for _, path := range []string{"/", "/holds/a%2Fb?x=1&token=y", "//evil.example/"} {
		answer := s.ask(t, http.MethodGet, "http://"+s.address+path, nil)
		answer.Body.Close()
		assert.Equal(t, http.StatusTemporaryRedirect, answer.StatusCode)
		assert.Equal(t, "https://"+s.address+path, answer.Header.Get("Location"))
	}
	s.end()
	assert.Empty(t, s.log.String(), "it is no news")
}

func TestAPlainRequestForAForeignHostIsShownNoWay(t *testing.T) {
	s := serveTLS(t, nil)
	defer s.end()
	for name, knock := range map[string]string{
		"a foreign name": "GET / HTTP/1.1\r\nHost: evil.example\r\n\r\n",
		"no name":        "GET / HTTP/1.0\r\n\r\n",
		"a proxy's path": "OPTIONS * HTTP/1.1\r\nHost: localhost\r\n\r\n",
	} {
		t.Run(name, func(t *testing.T) {
			c, err := net.Dial("tcp", s.address)
			require.NoError(t, err)
			defer c.Close()
			_, err = io.WriteString(c, knock)
			require.NoError(t, err)
			answer, err := http.ReadResponse(bufio.NewReader(c), nil)
			require.NoError(t, err)
			answer.Body.Close()
			assert.Equal(t, http.StatusForbidden, answer.StatusCode)
			assert.Empty(t, answer.Header.Get("Location"))
		})
	}
}

// TestWhoSaysNothingHoldsUpNobody opens connections that say nothing, or half of
// something: others are served meanwhile, and they are let go in time.
func TestWhoSaysNothingHoldsUpNobody(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	s := serveTLS(t, nil)
	var silent []net.Conn
	for _, begun := range []string{"", "G", "GET / HTTP/1.1\r\nHost: loc", "\x16", "\x16\x03\x01\x02\x00", "\x00\x00\x00"} {
		c, err := net.Dial("tcp", s.address)
		require.NoError(t, err)
		defer c.Close()
		_, err = io.WriteString(c, begun)
		require.NoError(t, err)
		silent = append(silent, c)
	}
	trusted := s.client.Transport.(*http.Transport).TLSClientConfig
	slow, err := tls.Dial("tcp", s.address, &tls.Config{RootCAs: trusted.RootCAs, ServerName: "localhost"})
	require.NoError(t, err)
	defer slow.Close()
	_, err = io.WriteString(slow, "POST / HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer "+secret+"\r\nContent-Length: 9\r\n\r\nhalf")
	require.NoError(t, err)
	silent = append(silent, slow)
	answer := s.ask(t, http.MethodGet, "https://"+s.address+"/healthz", nil)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	for _, c := range silent {
		require.NoError(t, c.SetReadDeadline(time.Now().Add(30*time.Second)))
		_, err := io.Copy(io.Discard, c)
		if timeout, ok := err.(net.Error); ok {
			assert.False(t, timeout.Timeout(), "it was not let go")
		}
	}
	s.end()
}

func TestBodiesAreLimited(t *testing.T) {
	s := serveTLS(t, func(o *web.Options) {
		o.Metrics = http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			n, err := io.Copy(io.Discard, r.Body)
			if err != nil {
				http.Error(w, err.Error(), http.StatusRequestEntityTooLarge)
				return
			}
			assert.Equal(t, int64(1<<20), n)
		})
	})
	defer s.end()
	for size, want := range map[int]int{1 << 20: http.StatusOK, 1<<20 + 1: http.StatusRequestEntityTooLarge} {
		answer := s.ask(t, http.MethodGet, "https://"+s.address+"/metrics", strings.NewReader(strings.Repeat("x", size)))
		answer.Body.Close()
		assert.Equal(t, want, answer.StatusCode)
	}
}

func TestOffLoopbackTLSIsDemanded(t *testing.T) {
	listener, err := net.Listen("tcp", "0.0.0.0:0")
	require.NoError(t, err)
	site, err := web.New(web.Options{Bench: newFake(), Token: secret})
	require.NoError(t, err)
	require.ErrorContains(t, site.Serve(t.Context(), listener), "no certificate")
	_, err = listener.Accept()
	assert.ErrorIs(t, err, net.ErrClosed, "nobody can connect meanwhile")
}
