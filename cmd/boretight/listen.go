package main

import (
	"cmp"
	"errors"
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strconv"
	"sync/atomic"
	"time"

	"boretight/internal/config"
	"boretight/internal/web/certificate"
)

// pagePort is the page's address. It stays open while benches come and go behind it: who
// asks in between waits for the next one, and nobody else can take it.
type pagePort struct{ *net.TCPListener }

// lend returns a listener at the port for one bench. Its Close ends it and leaves the
// port open; there must be one at a time.
func (p *pagePort) lend() net.Listener {
	_ = p.SetDeadline(time.Time{}) // fails only when closed, as Accept then does
	return &lentPort{TCPListener: p.TCPListener}
}

// lentPort is a port that a bench gives back.
type lentPort struct {
	*net.TCPListener
	back atomic.Bool
}

// Accept implements [net.Listener].
func (l *lentPort) Accept() (net.Conn, error) {
	c, err := l.TCPListener.Accept()
	if err != nil && l.back.Load() {
		return nil, net.ErrClosed
	}
	return c, err
}

// Close implements [net.Listener].
func (l *lentPort) Close() error {
	if l.back.Swap(true) {
		return nil
	}
	return l.SetDeadline(time.Unix(1, 0)) // long ago: an Accept that waits returns
}

// listen opens the page's address. Only the default may give way to a free port.
func listen(a app, told string) (*pagePort, error) {
	address := cmp.Or(told, config.DefaultListen)
	l, err := net.Listen("tcp", address)
	if err == nil {
		return &pagePort{l.(*net.TCPListener)}, nil
	}
	if told != "" || !inUse(err) {
		return nil, &hintedError{
			err:  fmt.Errorf("serve page: %w", err),
			hint: "choose another address with --listen, or leave it out to get a free port",
		}
	}
	host, _, _ := net.SplitHostPort(address)
	l, err = net.Listen("tcp", net.JoinHostPort(host, "0"))
	if err != nil {
		return nil, fmt.Errorf("serve page: %w", err)
	}
	fmt.Fprintf(a.err, "%s is in use; serving at %s instead\n", address, l.Addr())
	return &pagePort{l.(*net.TCPListener)}, nil
}

// inUse reports whether a listen failed because somebody else listens there.
func inUse(err error) bool {
	sys, ok := errors.AsType[*os.SyscallError](err)
	return ok && sys.Syscall == "bind"
}

// pageAddresses returns the address of the page to tell first, which one that listens at
// all of the machine's addresses can be reached at by a tablet, and the others.
func pageAddresses(at net.Addr, secure security) (first string, others []string) {
	scheme := "http"
	if secure.tls != nil {
		scheme = "https"
	}
	tcp := at.(*net.TCPAddr)
	page := func(host string) string {
		return scheme + "://" + net.JoinHostPort(host, strconv.Itoa(tcp.Port)) + "/"
	}
	if !tcp.IP.IsUnspecified() {
		return page(tcp.AddrPort().Addr().Unmap().WithZone("").String()), nil
	}
	addresses := certificate.Addresses()
	// The one by which this machine reaches others is the one by which they reach it.
	if i := slices.Index(addresses, outward()); i > 0 {
		a := addresses[i]
		addresses = slices.Insert(slices.Delete(addresses, i, i+1), 0, a)
	}
	for _, a := range addresses {
		if a.Is4() || tcp.IP.To4() == nil {
			others = append(others, page(a.String()))
		}
	}
	if len(others) == 0 {
		return page("localhost"), nil
	}
	return others[0], others[1:]
}

// outward returns the address from which this machine speaks to others, the zero address
// if it cannot. Nothing is sent: a datagram's way is chosen before there is one, here to
// an address that nobody has (RFC 5737).
func outward() netip.Addr {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer c.Close()
	a, err := netip.ParseAddrPort(c.LocalAddr().String())
	if err != nil {
		return netip.Addr{}
	}
	return a.Addr()
}
