package web_test

import (
	"bufio"
	"context"
	"io"
	"net"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"boretight/internal/web"
)

func TestServeEndsWithStreamsOpenAndLeavesNothing(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	f := newFake()
	site, err := web.New(web.Options{Bench: f})
	require.NoError(t, err)
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- site.Serve(ctx, listener) }()

	client := &http.Client{Transport: &http.Transport{}}
	for range 3 {
		answer, err := client.Get("http://" + listener.Addr().String() + "/api/v1/live")
		require.NoError(t, err)
		defer answer.Body.Close()
		require.Equal(t, http.StatusOK, answer.StatusCode)
	}
	cancel()
	assert.NoError(t, <-ended, "open streams do not hold the end up")
	client.CloseIdleConnections()
}

func TestOffLoopbackATokenIsDemanded(t *testing.T) {
	listener, err := net.Listen("tcp", "0.0.0.0:0")
	require.NoError(t, err)
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	err = site.Serve(t.Context(), listener)
	require.ErrorContains(t, err, "no token set")
	_, err = listener.Accept()
	assert.ErrorIs(t, err, net.ErrClosed, "nobody can connect meanwhile")
}

func TestServeTellsWhenItsListenerFails(t *testing.T) {
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	require.NoError(t, listener.Close())
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	assert.ErrorIs(t, site.Serve(t.Context(), listener), net.ErrClosed)
}

func TestSiteNeedsABench(t *testing.T) {
	_, err := web.New(web.Options{})
	assert.EqualError(t, err, "make site: no bench given")
}

// TestWhoHasJustComeIsAnswered asks over new connections for as long as the page is there:
// the end of it must not hang up on anybody whom it let in.
func TestWhoHasJustComeIsAnswered(t *testing.T) {
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	site, err := web.New(web.Options{Bench: newFake()})
	require.NoError(t, err)
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	for range 50 {
		listener, err := net.Listen("tcp", "127.0.0.1:0")
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- site.Serve(ctx, listener) }()
		c, err := net.Dial("tcp", listener.Addr().String())
		require.NoError(t, err)
		answer, err := client.Get("http://" + listener.Addr().String() + "/healthz") // the other was let in before
		require.NoError(t, err)
		answer.Body.Close()
		cancel()
		_, err = io.WriteString(c, "GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
		require.NoError(t, err)
		answer, err = http.ReadResponse(bufio.NewReader(c), nil)
		require.NoError(t, err)
		answer.Body.Close()
		assert.Equal(t, http.StatusOK, answer.StatusCode)
		require.NoError(t, c.Close())
		require.NoError(t, <-ended)
	}
}
