package gauge_test

import (
	"io"
	"net"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
)

func TestAGaugeBehindTCP(t *testing.T) {
	server, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer server.Close()
	address, sink := "tcp:"+server.Addr().String(), newRecorder()
	r := run(t, address, sink)
	conn, err := server.Accept()
	require.NoError(t, err)
	_, err = io.WriteString(conn, identity+readings(1, 100))
	require.NoError(t, err)
	sink.await(t, 99)
	assert.True(t, r.Stats().Up)
	require.NoError(t, conn.(*net.TCPConn).CloseWrite())
	err = r.ended(t)
	assert.EqualError(t, err, "gauge "+address+": the other side closed the connection (EOF)")
	assert.ErrorIs(t, err, io.EOF)
	require.NoError(t, conn.Close())
}

func TestAGaugeBehindTCPStopsWhileNothingComes(t *testing.T) {
	server, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer server.Close()
	r := run(t, "tcp:"+server.Addr().String(), newRecorder())
	conn, err := server.Accept()
	require.NoError(t, err)
	defer conn.Close()
	r.stop()
	assert.NoError(t, r.ended(t))
}

func TestNobodyAtTheAddress(t *testing.T) {
	server, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	address := "tcp:" + server.Addr().String()
	require.NoError(t, server.Close())
	err = run(t, address, newRecorder()).ended(t)
	require.ErrorContains(t, err, "gauge "+address+": nobody answers; check host and port, and that the serial server runs (")
	var port *gauge.PortError
	require.ErrorAs(t, err, &port)
	assert.Equal(t, gauge.FaultAbsent, port.Fault)
}
