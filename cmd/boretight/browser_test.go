package main

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

func TestAlreadyRunningKnowsItsOwn(t *testing.T) {
	t.Parallel()
	other := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.Write([]byte("ok")) }))
	defer other.Close()
	assert.False(t, alreadyRunning(t.Context(), strings.TrimPrefix(other.URL, "http://")), "another program")

	p := start(t, programPath(t), "serve", "--listen", "127.0.0.1:0", "--gauge", "sim:silent")
	address := strings.Trim(strings.TrimPrefix(p.line(10*time.Second), "http://"), "/")
	assert.True(t, alreadyRunning(t.Context(), address))
	assert.Zero(t, p.stop(syscall.SIGTERM))
	assert.False(t, alreadyRunning(t.Context(), address), "nobody")
}
