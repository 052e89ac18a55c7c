package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// program is a running serve command, with settings of its own that are empty.
type program struct {
	cmd  *exec.Cmd
	dir  string
	page string // its address
	out  io.Reader
	// address is the time from the start to the page's address on standard output, and
	// ready that to the first answer that holds can be recorded.
	address, ready time.Duration
}

// serve starts the program on a ledger, with a simulated gauge that says nothing.
func serve(ctx context.Context, name, path string) (*program, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "ledgermaker-")
	if err != nil {
		return nil, err
	}
	p := &program{dir: dir}
	p.cmd = exec.CommandContext(ctx, name, "serve", "--ledger", path, "--listen", "127.0.0.1:0", "--gauge", "north=sim:silent", "--volume", "30ml", "--limit", "2.5sccm")
	p.cmd.Env = append(os.Environ(), "HOME="+dir, "XDG_CONFIG_HOME="+dir, "XDG_DATA_HOME="+dir)
	out, err := p.cmd.StdoutPipe()
	begun := time.Now()
	if err == nil {
		err = p.cmd.Start()
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(dir))
	}
	lines := bufio.NewReader(out)
	p.out = lines
	p.page, err = lines.ReadString('\n')
	p.page, p.address = strings.TrimSpace(p.page), time.Since(begun)
	if err == nil {
		_, err = p.get(ctx, "/readyz")
	}
	p.ready = time.Since(begun)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("start %s on %s: %w", name, path, err), p.stop())
	}
	return p, nil
}

// stop ends the program as Ctrl-C does.
func (p *program) stop() error {
	err := p.cmd.Process.Signal(os.Interrupt)
	_, copyErr := io.Copy(io.Discard, p.out)
	return errors.Join(err, copyErr, p.cmd.Wait(), os.RemoveAll(p.dir))
}

// build builds the program into dir and returns its path.
func build(ctx context.Context, dir string) (string, error) {
	path := filepath.Join(dir, "boretight")
	cmd := exec.CommandContext(ctx, "go", "build", "-trimpath", "-ldflags", "-s -w", "-o", path, "boretight/cmd/boretight")
	cmd.Env = append(os.Environ(), "CGO_ENABLED=0") // as it is given out
	if out, err := cmd.CombinedOutput(); err != nil {
		return "", fmt.Errorf("build the program: %w\n%s", err, out)
	}
	return path, nil
}

// starts is how often the program is started.
const starts = 20

// start starts the program on a ledger again and again, and prints how long that took.
func start(ctx context.Context, program, path string, out io.Writer) error {
	var address, ready answers
	for range starts {
		p, err := serve(ctx, program, path)
		if err != nil {
			return err
		}
		address.took, ready.took = append(address.took, p.address), append(ready.took, p.ready)
		address.spent += processor(p.cmd.Process.Pid) / starts
		if err := p.stop(); err != nil {
			return err
		}
	}
	fmt.Fprint(out, "| start | p50 ms | p95 ms | max ms |\n| --- | --- | --- | --- |\n")
	for _, row := range []struct {
		what string
		answers
	}{{"to the address", address}, {"to ready", ready}} {
		slices.Sort(row.took)
		fmt.Fprintf(out, "| %s | %s | %s | %s |\n", row.what, milliseconds(row.at(0.5)), milliseconds(row.at(0.95)), milliseconds(row.at(1)))
	}
	_, err := fmt.Fprintf(out, "\nprocessor a start: %s ms\n", milliseconds(address.spent))
	return err
}
