// Package certificate makes and keeps the certificate with which a page is served to
// other machines in a shop that has none of its own.
//
// It is signed by nobody but itself, so a browser asks once whether to trust it, and
// shows its SHA-256 fingerprint: compare that with the one [Fingerprint] gives. What it
// does is keep the talk between tablet and bench from being read or changed on the way.
//
// # Caveats
//
// A certificate is looked at when it is asked for, not while it is in use: a program that
// runs beyond its end serves an expired one, of which browsers complain as they do of
// one that is signed by itself. [Keep] may be called from one goroutine at a time for
// one folder; of two programs that make one at the same time, the last one's is kept.
package certificate

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"net"
	"strings"
	"time"
)

const (
	// validFor is how long a certificate is good: the longest that browsers of all makes
	// take (398 days, CA/Browser Forum Baseline Requirements 6.3.2), less a day.
	validFor = 397 * 24 * time.Hour
	// renewBefore is how long before its end a certificate is replaced.
	renewBefore = 30 * 24 * time.Hour
	// backdated makes it good for a tablet whose clock is behind.
	backdated = time.Hour
)

// Make makes a certificate for the names, signed by itself, good from now on.
func Make(names Names, now time.Time) (tls.Certificate, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make a key for the page's certificate: %w", err)
	}
	// Two of the same name and number would be refused by browsers, so it is random;
	// the library chooses it where none is given.
	begin := now.Add(-backdated).UTC().Truncate(time.Second)
	template := x509.Certificate{
		Subject:               pkix.Name{Organization: []string{"Boretight"}, CommonName: names.Machine},
		NotBefore:             begin,
		NotAfter:              begin.Add(validFor),
		KeyUsage:              x509.KeyUsageDigitalSignature,
		ExtKeyUsage:           []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		BasicConstraintsValid: true, // of no authority: it vouches for nothing but itself
		DNSNames:              names.Hosts,
	}
	for _, a := range names.Addresses {
		template.IPAddresses = append(template.IPAddresses, net.IP(a.AsSlice()))
	}
	der, err := x509.CreateCertificate(rand.Reader, &template, &template, key.Public(), key)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make the page's certificate: %w", err)
	}
	leaf, err := x509.ParseCertificate(der)
	if err != nil {
		return tls.Certificate{}, fmt.Errorf("make the page's certificate: %w", err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key, Leaf: leaf}, nil
}

// Load reads a certificate of the shop's own, with those that vouch for it after it, and
// its key, both PEM.
func Load(certFile, keyFile string) (tls.Certificate, error) {
	if certFile == "" || keyFile == "" {
		return tls.Certificate{}, errors.New("a certificate and its key go together: tell both")
	}
	c, err := tls.LoadX509KeyPair(certFile, keyFile)
	if err != nil {
		return c, fmt.Errorf("read the page's certificate %s and its key %s: %w", certFile, keyFile, err)
	}
	return c, nil
}

// Fingerprint returns the SHA-256 fingerprint of a certificate as browsers show it:
// pairs of capital hexadecimal digits with colons between them.
func Fingerprint(c tls.Certificate) string {
	if len(c.Certificate) == 0 {
		return ""
	}
	sum := sha256.Sum256(c.Certificate[0])
	return strings.ReplaceAll(fmt.Sprintf("% X", sum[:]), " ", ":")
}

// Config returns how to serve with a certificate: TLS 1.2 or newer, with what the
// library holds good today.
func Config(c tls.Certificate) *tls.Config {
	return &tls.Config{Certificates: []tls.Certificate{c}, MinVersion: tls.VersionTLS12}
}
