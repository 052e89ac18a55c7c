package main

import (
	"crypto/tls"
	"crypto/x509"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
	"boretight/internal/web/certificate"
)

const shopToken = "correct-horse-battery"

// fingerprintSaid is what the program says of its certificate.
var fingerprintSaid = regexp.MustCompile(`SHA-256 fingerprint is (([0-9A-F]{2}:){31}[0-9A-F]{2})\n`)

// tablet is a browser that trusts one certificate only.
func tablet(t *testing.T, c tls.Certificate) *http.Client {
	t.Helper()
	trusted := x509.NewCertPool()
	trusted.AddCert(c.Leaf)
	client := &http.Client{
		Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: trusted}},
		Timeout:   10 * time.Second,
	}
	t.Cleanup(client.CloseIdleConnections)
	return client
}

// TestATabletIsServedOverTLS opens the page as a tablet does that was given the address
// and the token.
func TestATabletIsServedOverTLS(t *testing.T) {
	t.Parallel()
	p := start(t, programPath(t), "serve", "--listen", "0.0.0.0:0", "--token", shopToken, "--gauge", "sim:silent", "--host", "repairs.example")
	page := p.line(10 * time.Second)
	require.Regexp(t, `^https://[0-9a-f.:\[\]]+:\d+/$`, page, "an address that a tablet can open")
	assert.NotContains(t, page, "0.0.0.0")
	p.err.waitFor(t, "stop with Ctrl-C")
	said := fingerprintSaid.FindStringSubmatch(p.err.String())
	require.Len(t, said, 3, p.err)

	folder := filepath.Join(envOf(p, "XDG_DATA_HOME"), "boretight")
	kept, err := certificate.Kept(folder)
	require.NoError(t, err, "it is kept in the data folder")
	assert.Equal(t, said[1], certificate.Fingerprint(kept))
	info, err := os.Stat(filepath.Join(folder, certificate.FileName))
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	assert.NoError(t, kept.Leaf.VerifyHostname("repairs.example"))

	address, err := url.Parse(page)
	require.NoError(t, err)
	browser := tablet(t, kept)
	status := func(page string, header ...string) int {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, page, nil)
		require.NoError(t, err)
		if len(header) > 0 {
			r.Header.Set(header[0], header[1])
		}
		answer, err := browser.Do(r)
		require.NoError(t, err)
		defer answer.Body.Close()
		io.Copy(io.Discard, answer.Body)
		return answer.StatusCode
	}
	assert.Equal(t, http.StatusUnauthorized, status(page))
	assert.Equal(t, http.StatusOK, status(page, "Authorization", "Bearer "+shopToken))
	address.Scheme = "http"
	assert.Equal(t, http.StatusOK, status(address.String(), "Authorization", "Bearer "+shopToken), "plain http leads to https")

	// The machine's own name is one of those that it answers to.
	machine, err := os.Hostname()
	require.NoError(t, err)
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, page+"healthz", nil)
	require.NoError(t, err)
	r.Host = machine
	answer, err := browser.Do(r)
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Zero(t, p.stop(syscall.SIGTERM))
}

// TestTheShopsOwnCertificateServesTablets uses one that the shop has, and finds the
// program by it when started again.
func TestTheShopsOwnCertificateServesTablets(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	made, _, err := certificate.Keep(folder, certificate.Present(nil), time.Now())
	require.NoError(t, err)
	pem := filepath.Join(folder, certificate.FileName)
	p := start(t, programPath(t), "demo", "--listen", "0.0.0.0:0", "--token", shopToken, "--tls-cert", pem, "--tls-key", pem)
	page := p.line(10 * time.Second)
	answer, err := tablet(t, made).Get(page + "healthz")
	require.NoError(t, err)
	answer.Body.Close()
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	p.err.waitFor(t, certificate.Fingerprint(made))
	assert.NotContains(t, p.err.String(), "nobody vouches")

	address, err := url.Parse(page)
	require.NoError(t, err)
	told := config.Config{Listen: net.JoinHostPort("0.0.0.0", address.Port()), TLSCert: pem, TLSKey: pem}
	assert.Equal(t, "https://127.0.0.1:"+address.Port()+"/", alreadyRunning(t.Context(), told))
	other, _, err := certificate.Keep(t.TempDir(), certificate.Present(nil), time.Now())
	require.NoError(t, err)
	assert.True(t, answersAsOurs(t.Context(), page, made))
	assert.False(t, answersAsOurs(t.Context(), page, other), "one with another certificate may be anybody")
	assert.Zero(t, p.stop(syscall.SIGTERM))
}

func TestTheDemosCertificateEndsWithIt(t *testing.T) {
	t.Parallel()
	p := start(t, programPath(t), "demo", "--listen", "0.0.0.0:0", "--token", shopToken)
	p.line(10 * time.Second)
	p.err.waitFor(t, "stop with Ctrl-C")
	kept, err := filepath.Glob(filepath.Join(envOf(p, "TMPDIR"), "boretight-demo-*", certificate.FileName))
	require.NoError(t, err)
	assert.Len(t, kept, 1)
	assert.Zero(t, p.stop(syscall.SIGTERM))
	left, err := os.ReadDir(envOf(p, "TMPDIR"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

func TestOffLoopbackATokenIsProposed(t *testing.T) {
	t.Parallel()
	proposal := regexp.MustCompile(`boretight: hint: add --token ([A-Z2-7]{26}), `)
	var tokens []string
	for range 2 {
		p := start(t, programPath(t), "serve", "--listen", "0.0.0.0:0", "--gauge", "sim:silent")
		assert.Equal(t, int(failed), p.wait())
		assert.Contains(t, p.err.String(), "no token")
		found := proposal.FindStringSubmatch(p.err.String())
		require.Len(t, found, 2, p.err)
		tokens = append(tokens, found[1])
	}
	assert.NotEqual(t, tokens[0], tokens[1])
}

// envOf is what a process was told of its surroundings, last counting.
func envOf(p *process, name string) string {
	var value string
	for _, v := range p.Env {
		if rest, ok := strings.CutPrefix(v, name+"="); ok {
			value = rest
		}
	}
	return value
}
