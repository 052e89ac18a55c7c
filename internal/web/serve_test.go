package web_test

import (
	"context"
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
