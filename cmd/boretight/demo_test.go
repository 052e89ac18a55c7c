package main

import (
	"encoding/json"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
)

// TestDemo looks at the demo as a newcomer does: the address, the page, a first
// verdict; then it ends and only the ledger is left.
func TestDemo(t *testing.T) {
	t.Parallel()
	ledger := filepath.Join(t.TempDir(), "demo.boretight")
	p := start(t, programPath(t), "demo", "--ledger", ledger)
	address := p.line(10 * time.Second)
	require.Regexp(t, `^http://127\.0\.0\.1:\d+/$`, address)
	page := get(t, address)
	assert.Contains(t, page, "<html")
	assert.NotRegexp(t, regexp.MustCompile(`https?://|src="//`), page, "the page fetches nothing from elsewhere")

	var s bench.Snapshot
	require.Eventually(t, func() bool {
		require.NoError(t, json.Unmarshal([]byte(get(t, address+"api/v1/snapshot")), &s))
		return len(s.Holds) > 0
	}, 60*time.Second, 200*time.Millisecond, "no hold ended")
	h := s.Holds[0]
	require.NotNil(t, h.LeakRate)
	assert.NotEmpty(t, h.Verdict)
	assert.Empty(t, h.Unrecorded)
	require.Len(t, s.Gauges, 1)
	assert.True(t, s.Gauges[0].Up)

	metrics := get(t, address+"metrics")
	assert.Regexp(t, `(?m)^boretight_gauge_up\{gauge="oboe-upper"\} 1$`, metrics)
	assert.Regexp(t, `(?m)^boretight_holds_total\{verdict="`+string(h.Verdict)+`"\} [1-9]`, metrics)

	assert.Contains(t, get(t, address+"api/v1/holds"), h.ID)
	assert.Contains(t, get(t, address+"api/v1/holds/"+h.ID), `"trace":[`)

	assert.Zero(t, p.stop(syscall.SIGTERM))
	entries, err := os.ReadDir(filepath.Dir(ledger))
	require.NoError(t, err)
	require.Len(t, entries, 1, "only the ledger is left")
	assert.Equal(t, "demo.boretight", entries[0].Name())
	checked := runHere(t.Context(), "", "check", "--json", "--ledger", ledger)
	assert.Zero(t, checked.status)
	assert.Contains(t, checked.out, `"interrupted":0,"ok":true`, "a hold cut by the end is ended, not interrupted")
}

func get(t *testing.T, address string) string {
	t.Helper()
	response, err := http.Get(address)
	require.NoError(t, err)
	defer response.Body.Close()
	require.Equal(t, http.StatusOK, response.StatusCode)
	body, err := io.ReadAll(response.Body)
	require.NoError(t, err)
	return string(body)
}

func TestServeAtAnAddressInUse(t *testing.T) {
	t.Parallel()
	first := start(t, programPath(t), "serve", "--listen", "127.0.0.1:0", "--gauge", "sim:silent")
	address := first.line(10 * time.Second)
	host := address[len("http://") : len(address)-1]
	second := start(t, programPath(t), "serve", "--listen", host, "--gauge", "sim:silent")
	assert.Equal(t, int(failed), second.wait())
	assert.Contains(t, second.err.String(), "boretight: error: serve page: ")
	assert.Contains(t, second.err.String(), "boretight: hint: choose another address with --listen")
	assert.Zero(t, first.stop(syscall.SIGTERM))
}

func TestServeOffLoopbackDemandsAToken(t *testing.T) {
	t.Parallel()
	p := start(t, programPath(t), "serve", "--listen", "0.0.0.0:0", "--gauge", "sim:silent")
	assert.Equal(t, int(failed), p.wait())
	assert.Contains(t, p.err.String(), "no token")
}

func TestTheDemoNeverRecordsIntoTheShopsLedger(t *testing.T) {
	t.Parallel()
	shop := filepath.Join(t.TempDir(), "shop.boretight")
	for name, args := range map[string][]string{
		"demo": {"demo", "--listen", "127.0.0.1:0"},
		// No gauge is set up: a simulated bench is shown. No browser is found.
		"serve without a gauge": {"serve", "--open", "--listen", "127.0.0.1:0"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			env := []string{"env", "BORETIGHT_LEDGER=" + shop, "PATH=/nonexistent", programPath(t)}
			p := start(t, env[0], append(env[1:], args...)...)
			p.line(10 * time.Second)
			p.err.waitFor(t, "; stop with Ctrl-C")
			ledger := regexp.MustCompile(`recording into (.*); stop`).FindStringSubmatch(p.err.String())
			require.Len(t, ledger, 2)
			assert.FileExists(t, ledger[1], "where it says")
			assert.Zero(t, p.stop(syscall.SIGTERM))
			assert.NoFileExists(t, shop)
			assert.NoDirExists(t, filepath.Dir(ledger[1]), "a clean end leaves nothing behind")
		})
	}
}

func TestTheDemoHasAMadeUpShop(t *testing.T) {
	t.Parallel()
	p := start(t, programPath(t), "demo", "--listen", "127.0.0.1:0")
	address := p.line(10 * time.Second)
	require.Eventually(t, func() bool {
		all := get(t, address+"tickets?of=all")
		return regexp.MustCompile(`T-1001(.*\n)*.*T-1004|T-1004(.*\n)*.*T-1001`).MatchString(all)
	}, 60*time.Second, 200*time.Millisecond, "tickets to look at")
	assert.Zero(t, p.stop(syscall.SIGTERM))
	assert.NotContains(t, p.err.String(), "not whole", "an end meanwhile is no fault")
}
