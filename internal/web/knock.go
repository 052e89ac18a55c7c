package web

import (
	"bufio"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
)

// tlsHandshake is the first byte of every TLS connection (RFC 8446, section 5.1). No
// method of http begins with it.
const tlsHandshake = 22

// maxKnock bounds what a plain request may send before it is answered.
const maxKnock = 16 << 10

// doorway is a listener of TLS connections, at which somebody may knock with plain http,
// as who types an address without its scheme does: they are shown the way.
type doorway struct {
	net.Listener
	hosts hostList
}

// Accept implements [net.Listener].
func (d doorway) Accept() (net.Conn, error) {
	c, err := d.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return &knock{Conn: c, hosts: d.hosts}, nil
}

// knock is a connection whose first byte tells what it wants. It is looked at where the
// TLS handshake first reads: in the connection's own goroutine, under the deadline of
// the handshake, so that nobody who says nothing holds up others.
type knock struct {
	net.Conn
	hosts hostList
	known bool
}

// Read implements [net.Conn].
func (k *knock) Read(p []byte) (int, error) {
	n, err := k.Conn.Read(p)
	if k.known || n == 0 {
		return n, err
	}
	k.known = true
	if p[0] == tlsHandshake {
		return n, err
	}
	k.showWay(p[:n])
	return 0, io.EOF
}

// showWay answers the plain request that begins with the bytes given. What is no request
// gets no answer.
func (k *knock) showWay(begun []byte) {
	in := io.MultiReader(strings.NewReader(string(begun)), k.Conn)
	r, err := http.ReadRequest(bufio.NewReader(io.LimitReader(in, maxKnock)))
	if err != nil {
		return
	}
	answer := http.Response{
		StatusCode: http.StatusTemporaryRedirect, // for now: at another time this may be plain http
		ProtoMajor: 1, ProtoMinor: 1, Close: true,
		Header: http.Header{"Cache-Control": {"no-store"}},
	}
	if k.hosts.has(r.Host) && strings.HasPrefix(r.URL.Path, "/") {
		way := url.URL{Scheme: "https", Host: r.Host, Path: r.URL.Path, RawPath: r.URL.RawPath, RawQuery: r.URL.RawQuery}
		answer.Header.Set("Location", way.String())
	} else {
		answer.StatusCode = http.StatusForbidden
	}
	_ = answer.Write(k.Conn) // who is gone needs no answer
}
