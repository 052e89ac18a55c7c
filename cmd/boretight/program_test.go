package main

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// builtIn is the built program's folder, empty until it is built.
var builtIn string

// built builds the program once, in a folder that other users can reach too.
var built = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "boretight-test-")
	if err != nil {
		return "", err
	}
	builtIn = dir
	if err := os.Chmod(dir, 0o755); err != nil {
		return "", err
	}
	path := filepath.Join(dir, "boretight")
	output, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	if err != nil {
		return "", &buildError{string(output)}
	}
	return path, nil
})

type buildError struct{ output string }

func (e *buildError) Error() string { return e.output }

// programPath returns the built program.
func programPath(t *testing.T) string {
	t.Helper()
	path, err := built()
	require.NoError(t, err)
	return path
}

// process is the program, running.
type process struct {
	*exec.Cmd
	t     *testing.T
	lines chan string // of standard output
	err   *watched    // standard error
}

// start runs a command until the test ends, with settings and data of its own.
func start(t *testing.T, command string, args ...string) *process {
	t.Helper()
	return startTyping(t, nil, command, args...)
}

// startTyping does the same with what is typed to it; nil is nothing.
func startTyping(t *testing.T, typed io.Reader, command string, args ...string) *process {
	t.Helper()
	p := &process{Cmd: exec.Command(command, args...), t: t, lines: make(chan string, 1000), err: &watched{}}
	p.Stdin = typed
	home := t.TempDir()
	p.Env = append(os.Environ(), "HOME="+home, "TMPDIR="+home, "XDG_CONFIG_HOME="+home, "XDG_DATA_HOME="+home)
	out, err := p.StdoutPipe()
	require.NoError(t, err)
	p.Stderr = p.err
	require.NoError(t, p.Start())
	read := make(chan struct{})
	go func() {
		defer close(read)
		defer close(p.lines)
		for s := bufio.NewScanner(out); s.Scan(); {
			p.lines <- s.Text()
		}
	}()
	t.Cleanup(func() {
		if p.ProcessState == nil {
			p.Process.Kill()
			<-read
			p.Wait()
		}
		if t.Failed() {
			t.Logf("%s said:\n%s", filepath.Base(command), p.err)
		}
	})
	return p
}

// line returns the next line of standard output.
func (p *process) line(within time.Duration) string {
	p.t.Helper()
	select {
	case l, ok := <-p.lines:
		require.True(p.t, ok, "standard output ended; standard error:\n%s", p.err)
		return l
	case <-time.After(within):
		require.FailNow(p.t, "no line came", "standard error:\n%s", p.err)
	}
	return ""
}

// stop sends a signal and returns the exit status.
func (p *process) stop(signal os.Signal) int {
	p.t.Helper()
	require.NoError(p.t, p.Process.Signal(signal))
	return p.wait()
}

// wait reads what is left and returns the exit status.
func (p *process) wait() int {
	for range p.lines {
	}
	p.Wait()
	return p.ProcessState.ExitCode()
}

// watched is a buffer that one goroutine writes while others wait for a text in it.
type watched struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

var _ io.Writer = (*watched)(nil)

func (w *watched) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.buf.Write(p)
}

func (w *watched) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.buf.String()
}

// waitFor returns when the text has been written; the test fails if it never is.
func (w *watched) waitFor(t *testing.T, text string) {
	t.Helper()
	require.Eventually(t, func() bool { return strings.Contains(w.String(), text) },
		30*time.Second, 20*time.Millisecond, "never said %q; said:\n%s", text, w)
}
