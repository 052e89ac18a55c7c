package main

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os/exec"
	"runtime"
	"strings"
	"time"
)

// alreadyRunning reports whether a boretight serves at the address.
func alreadyRunning(ctx context.Context, address string) bool {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+address+"/healthz", nil)
	if err != nil {
		return false
	}
	response, err := http.DefaultClient.Do(request)
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
