//go:build linux

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

// build builds the program into dir and returns its path.
func build(ctx context.Context, dir string) (string, error) {
	path := filepath.Join(dir, "boretight")
	cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags", "-s -w", "-o", path, "boretight/cmd/boretight")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0") // as it is given out
	out, err := cmd.CombinedOutput()
	if err != nil {
		return "", fmt.Errorf("build the program: %w\n%s", err, out)
	}
	return path, nil
}

// program is a running serve command.
type program struct {
	cmd  *exec.Cmd
	page string // its address, with a slash at the end
	out  io.Reader
	log  *os.File
	// address is the time from the start to the page's address on standard output, and
	// ready that to the first answer that holds can be recorded.
	address, ready time.Duration
}

// serve starts the program on gauges and a ledger in dir.
func serve(ctx context.Context, path, dir string, gauges []string) (*program, error) {
	args := []string{"serve", "--ledger", filepath.Join(dir, "ledger.db"), "--listen", "127.0.0.1:0", "--volume", "30ml", "--limit", "2.5sccm"}
	for i, address := range gauges {
		args = append(args, "--gauge", fmt.Sprintf("g%d=%s", i+1, address))
	}
	cmd := exec.CommandContext(ctx, path, args...)
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir, "XDG_DATA_HOME="+dir)
	log, err := os.OpenFile(filepath.Join(dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, err
	}
	cmd.Stderr = log
	out, err := cmd.StdoutPipe()
	begun := time.Now()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		return nil, errors.Join(err, log.Close())
	}
	lines := bufio.NewReader(out)
	page, err := lines.ReadString('\n')
	p := &program{cmd: cmd, page: strings.TrimSpace(page), out: lines, log: log, address: time.Since(begun)}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the program said no address: %w (see %s)", err, log.Name()), p.stop())
	}
	if _, err := p.get(ctx, "readyz"); err != nil {
		return nil, errors.Join(err, p.stop())
	}
	p.ready = time.Since(begun)
	return p, nil
}

// stop ends the program as Ctrl-C does.
func (p *program) stop() error {
	err := p.cmd.Process.Signal(os.Interrupt)
	_, copyErr := io.Copy(io.Discard, p.out)
	return errors.Join(err, copyErr, p.cmd.Wait(), p.log.Close())
}

// get returns what the program answers at a path.
func (p *program) get(ctx context.Context, path string) (string, error) {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, p.page+path, nil)
	if err != nil {
		return "", err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return "", err
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err == nil && response.StatusCode != http.StatusOK {
		err = fmt.Errorf("ask the program for %s: %s", path, response.Status)
	}
	return string(body), err
}

// metric returns the sum of a metric's values over its labels.
func (p *program) metric(ctx context.Context, name string) (sum float64, err error) {
	text, err := p.get(ctx, "metrics")
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(text) {
		series, value, _ := strings.Cut(strings.TrimSpace(line), " ")
		if family, _, _ := strings.Cut(series, "{"); family != name {
			continue
		}
		var v float64
		if _, err := fmt.Sscan(value, &v); err != nil {
			return 0, fmt.Errorf("read metric %s: %w", name, err)
		}
		sum += v
	}
	return sum, nil
}
