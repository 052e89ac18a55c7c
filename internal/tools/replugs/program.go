//go:build unix

package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"golang.org/x/sys/unix"
)

// build builds the program into dir and returns its path.
func build(ctx context.Context, dir string) (string, error) {
	path := filepath.Join(dir, "boretight")
	out, err := exec.CommandContext(ctx, "go", "build", "-o", path, "boretight/cmd/boretight").CombinedOutput()
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
}

// serve starts the program on a gauge and a ledger, with settings and data in dir.
func serve(ctx context.Context, path, dir, address string) (*program, error) {
	cmd := exec.CommandContext(ctx, path, "serve", "--gauge", address,
		"--ledger", filepath.Join(dir, "ledger.db"), "--listen", "127.0.0.1:0", "--volume", "30ml")
	cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir, "XDG_DATA_HOME="+dir)
	log, err := os.OpenFile(filepath.Join(dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return nil, err
	}
	cmd.Stderr = log
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		return nil, errors.Join(err, log.Close())
	}
	lines := bufio.NewReader(out)
	page, err := lines.ReadString('\n')
	p := &program{cmd: cmd, page: strings.TrimSpace(page), out: lines, log: log}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("the program said no address: %w (see %s)", err, log.Name()), p.stop())
	}
	return p, nil
}

// stop ends the program as Ctrl-C does.
func (p *program) stop() error {
	err := p.cmd.Process.Signal(os.Interrupt)
	_, copyErr := io.Copy(io.Discard, p.out)
	return errors.Join(err, copyErr, p.cmd.Wait(), p.log.Close())
}

// processorTime is what an ended program took of a processor.
func (p *program) processorTime() time.Duration {
	usage, ok := p.cmd.ProcessState.SysUsage().(*unix.Rusage)
	if !ok {
		return p.cmd.ProcessState.UserTime() + p.cmd.ProcessState.SystemTime()
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// watch follows the program's live events.
type watch struct {
	mu       sync.Mutex
	last     time.Time // when the last readings came
	lastT    float64   // the time of the last reading, on the stream's clock
	readings int
	disorder int // readings whose time is not later than the one before
	phase    string
	changed  chan struct{}
}

// follow reads events until ctx ends.
func (w *watch) follow(ctx context.Context, page string) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, page+"api/v1/live", nil)
	if err != nil {
		return err
	}
	response, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer response.Body.Close()
	lines := bufio.NewScanner(response.Body)
	lines.Buffer(nil, 1<<20)
	kind := ""
	for lines.Scan() {
		name, value, _ := strings.Cut(lines.Text(), ": ")
		switch name {
		case "event":
			kind = value
		case "data":
			if err := w.take(kind, []byte(value)); err != nil {
				return err
			}
		}
	}
	if ctx.Err() != nil {
		return nil
	}
	return lines.Err()
}

func (w *watch) take(kind string, data []byte) error {
	var event struct {
		Phase    string
		Readings []struct {
			T float64 `json:"t_s"`
		}
	}
	if kind != "reading" && kind != "state" {
		return nil
	}
	var err error
	if kind == "reading" {
		err = json.Unmarshal(data, &event.Readings)
	} else {
		err = json.Unmarshal(data, &event)
	}
	if err != nil {
		return fmt.Errorf("read event %s: %w", kind, err)
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	if kind == "state" {
		w.phase = event.Phase
	}
	for _, r := range event.Readings {
		if w.readings > 0 && r.T <= w.lastT {
			w.disorder++
		}
		w.lastT, w.last = r.T, time.Now()
		w.readings++
	}
	select {
	case w.changed <- struct{}{}:
	default:
	}
	return nil
}

// until waits until ok holds of the watch.
func (w *watch) until(ctx context.Context, what string, within time.Duration, ok func() bool) error {
	deadline := time.NewTimer(within)
	defer deadline.Stop()
	for {
		w.mu.Lock()
		now := ok()
		w.mu.Unlock()
		if now {
			return nil
		}
		select {
		case <-w.changed:
		case <-deadline.C:
			return fmt.Errorf("%s: not within %v", what, within)
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
