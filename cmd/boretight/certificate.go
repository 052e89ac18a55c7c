package main

import (
	"crypto/rand"
	"crypto/tls"
	"fmt"
	"io"
	"net"
	"path/filepath"
	"strings"
	"time"

	"github.com/adrg/xdg"

	"boretight/internal/config"
	"boretight/internal/web"
	"boretight/internal/web/certificate"
)

// security is how the page is kept from others on the way.
type security struct {
	// tls is nil on loopback, where there is no way.
	tls *tls.Config
	// fingerprint is the certificate's, for people to compare; own says that nobody
	// vouches for it, so that browsers ask, and made that it is new.
	fingerprint string
	own, made   bool
	// hosts are further names under which the page may be asked for.
	hosts []string
}

// dataFolder is the program's place below the system's folder of data.
func dataFolder() string { return filepath.Join(xdg.DataHome, filepath.Dir(usualLedger)) }

// admissible refuses an address that others can reach without a token, and proposes one.
func admissible(at net.Addr, told config.Config) error {
	err := web.Admissible(at, told.Token)
	if err == nil {
		return nil
	}
	return &hintedError{err: err, hint: fmt.Sprintf("add --token %s, which was made just now and nobody else knows; a browser needs it once to be let in", rand.Text())}
}

// security chooses the certificate with which others are served: the shop's own, or one
// of the program's own making, which a demo keeps for as long as it runs.
func (s *server) security(r round) (security, error) {
	secure := security{hosts: r.told.Hosts}
	if web.Loopback(s.port.Addr()) {
		return secure, nil
	}
	names := certificate.Present(r.told.Hosts)
	secure.hosts = names.Hosts
	var c tls.Certificate
	var err error
	if r.told.TLSCert != "" || r.told.TLSKey != "" {
		c, err = certificate.Load(r.told.TLSCert, r.told.TLSKey)
	} else {
		folder := dataFolder()
		if r.simulated {
			if folder, err = s.temporary(); err != nil {
				return secure, err
			}
		}
		secure.own = true
		c, secure.made, err = certificate.Keep(folder, names, time.Now())
	}
	if err != nil {
		return secure, err
	}
	secure.tls, secure.fingerprint = certificate.Config(c), certificate.Fingerprint(c)
	return secure, nil
}

// explain says at which addresses the page is too, and what a browser will ask.
func (s security) explain(w io.Writer, others []string) {
	if len(others) > 0 {
		fmt.Fprintf(w, "the page is also at %s\n", strings.Join(others, " "))
	}
	if s.tls == nil {
		return
	}
	fmt.Fprintf(w, "the certificate's SHA-256 fingerprint is %s\n", s.fingerprint)
	if s.own {
		what := "nobody vouches for this certificate"
		if s.made {
			what = "this certificate is new and nobody vouches for it"
		}
		fmt.Fprintf(w, "%s: a browser asks once whether to trust it; do so if it shows this fingerprint\n", what)
	}
	fmt.Fprintln(w, "to be let in, a browser adds ?token= and the token to the address once")
}
