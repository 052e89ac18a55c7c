//go:build linux

package main

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
)

// slow are connections that ask for the live stream and take nothing of it.
type slow []net.Conn

// receive is the room in bytes that a slow reader leaves for what it does not take: the
// least that makes the program notice soon.
const receive = 4096

// openSlow opens so many.
func openSlow(page string, n int) (all slow, err error) {
	u, err := url.Parse(page)
	if err != nil {
		return nil, err
	}
	for range n {
		conn, err := net.Dial("tcp", u.Host)
		if err != nil {
			all.close()
			return nil, err
		}
		all = append(all, conn)
		_, err = io.WriteString(conn, "GET /api/v1/live HTTP/1.1\r\nHost: "+u.Host+"\r\n\r\n")
		if tcp, ok := conn.(*net.TCPConn); ok {
			err = errors.Join(err, tcp.SetReadBuffer(receive))
		}
		if err != nil {
			all.close()
			return nil, fmt.Errorf("open a slow reader: %w", err)
		}
	}
	return all, nil
}

func (s slow) close() {
	for _, conn := range s {
		conn.Close()
	}
}
