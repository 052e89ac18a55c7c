package main

import (
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"boretight/internal/config"
)

func TestAlreadyRunningKnowsItsOwn(t *testing.T) {
	at := func(address string) config.Config { return config.Config{Listen: address} }
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.Write([]byte("ok")) }))
	defer other.Close()
	assert.Empty(t, alreadyRunning(t.Context(), at(strings.TrimPrefix(other.URL, "http://"))), "another program")

	p := start(t, programPath(t), "serve", "--listen", "127.0.0.1:0", "--gauge", "sim:silent")
	page := p.line(10 * time.Second)
	address := strings.Trim(strings.TrimPrefix(page, "http://"), "/")
	assert.Equal(t, page, alreadyRunning(t.Context(), at(address)))

	none := t.TempDir()
	t.Setenv("BORETIGHT_LISTEN", address)
	t.Setenv("PATH", none)
	assert.Contains(t, runHere(t.Context(), "", "serve", "--open").err, "in the browser", "it opens the page of the one that runs")
	assert.Contains(t, runHere(t.Context(), "", "serve", "--open", "--listen", address, "--ledger", filepath.Join(none, "shop.boretight")).err, "choose another address", "an explicit address in use")
	assert.Zero(t, p.stop(syscall.SIGTERM))
	assert.Empty(t, alreadyRunning(t.Context(), at(address)), "nobody")
}
