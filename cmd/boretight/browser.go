package main

import (
	"bytes"
	"cmp"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os/exec"
	"runtime"
	"strings"
	"time"

	"boretight/internal/config"
	"boretight/internal/web/certificate"
)

// alreadyRunning returns the address of the page of a boretight that serves where this
// one is told to, empty if none does.
func alreadyRunning(ctx context.Context, told config.Config) string {
	host, port, err := net.SplitHostPort(cmp.Or(told.Listen, config.DefaultListen))
	if err != nil {
		return ""
	}
	if ip, err := netip.ParseAddr(host); host == "" || err == nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	for _, scheme := range []string{"http", "https"} {
		page := scheme + "://" + net.JoinHostPort(host, port) + "/"
		if answersAsOurs(ctx, page, usualCertificate(told)) {
			return page
		}
	}
	return ""
}

// usualCertificate returns the certificate with which others are served, if there is one.
func usualCertificate(told config.Config) tls.Certificate {
	var c tls.Certificate
	if told.TLSCert != "" {
		c, _ = certificate.Load(told.TLSCert, told.TLSKey)
	} else {
		c, _ = certificate.Kept(dataFolder())
	}
	return c // what cannot be read is nobody's
}

// answersAsOurs reports whether a boretight serves at an address. One that serves others
// is ours if it has our certificate, so that the token is told to nobody else.
func answersAsOurs(ctx context.Context, page string, ours tls.Certificate) bool {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, page+"healthz", nil)
	if err != nil {
		return false
	}
	transport := &http.Transport{DisableKeepAlives: true, TLSClientConfig: &tls.Config{
		InsecureSkipVerify: true, // nobody vouches for it; it is compared instead
		VerifyConnection: func(s tls.ConnectionState) error {
			if len(ours.Certificate) == 0 || !bytes.Equal(s.PeerCertificates[0].Raw, ours.Certificate[0]) {
				return errors.New("another certificate than ours")
			}
			return nil
		},
	}}
	client := http.Client{Transport: transport, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	response, err := client.Do(request)
	if err != nil {
		return false
	}
	defer response.Body.Close()
	// What else may listen there has another policy, or another word for its health.
	body, err := io.ReadAll(io.LimitReader(response.Body, 100))
	return err == nil && response.StatusCode == http.StatusOK &&
		strings.Contains(string(body), "alive") && response.Header.Get("Content-Security-Policy") != ""
}

// openBrowser opens an address in the person's browser, with the token that lets it
// in, if one is needed. It does not wait for it.
func openBrowser(a app, page, token string) error {
	address := page
	if token != "" {
		address += "?token=" + url.QueryEscape(token)
	}
	var c *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	case "darwin":
		c = exec.Command("open", address)
	default:
		c = exec.Command("xdg-open", address)
	}
	if err := c.Start(); err != nil {
		return fmt.Errorf("open %s in the browser: %w", page, err)
	}
	fmt.Fprintf(a.err, "opening %s in the browser\n", page)
	go c.Wait() // it ends by itself; nothing depends on how
	return nil
}
