//go:build linux

package gauge_test

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"boretight/internal/gauge"
)

// openAsStranger opens the address from another process, whose user is another one
// if this one is root, because root is never refused. It returns the error's text.
func openAsStranger(t *testing.T, address string) string {
	t.Helper()
	command := exec.CommandContext(t.Context(), os.Args[0])
	if os.Getuid() == 0 {
		// The folder of the test binary is closed to others.
		command = exec.CommandContext(t.Context(), publicCopy(t))
		command.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	command.Env = append(os.Environ(), openOnly+"="+address)
	command.Dir = "/"
	out, err := command.CombinedOutput()
	require.NoError(t, err, string(out))
	return strings.TrimSpace(string(out))
}

// publicCopy copies the test binary to where everybody may run it.
func publicCopy(t *testing.T) string {
	t.Helper()
	folder, err := os.MkdirTemp("", "stranger")
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, os.RemoveAll(folder)) })
	require.NoError(t, os.Chmod(folder, 0o755))
	from, err := os.Open(os.Args[0])
	require.NoError(t, err)
	defer from.Close()
	path := filepath.Join(folder, "gauge.test")
	to, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY, 0o755)
	require.NoError(t, err)
	_, err = io.Copy(to, from)
	require.NoError(t, err)
	require.NoError(t, to.Close())
	return path
}

func TestAPortInUseIsSaidToBeBusy(t *testing.T) {
	line, sink := newTerminal(t), newRecorder()
	require.NoError(t, os.Chmod(line.port, 0o666))
	run(t, "serial:"+line.port, sink)
	line.say(t, readings(1, 2))
	sink.await(t, 1)
	assert.Contains(t, openAsStranger(t, "serial:"+line.port),
		"gauge serial:"+line.port+": the port is in use by another program; close that program")
	assert.Contains(t, gauge.HolderOf(line.port, 0), "(process ")
	assert.Empty(t, gauge.HolderOf(line.port, os.Getpid()), "nobody else has it")
}

func TestAPortWithoutPermissionIsSaidToBeThat(t *testing.T) {
	line := newTerminal(t)
	require.NoError(t, os.Chmod(line.port, 0))
	assert.Contains(t, openAsStranger(t, "serial:"+line.port),
		"gauge serial:"+line.port+": no permission to open the port; no group may use it: give it one with a udev rule (GROUP=")
}

func TestAPortBeyondWhatSelectHoldsIsAnError(t *testing.T) {
	var limit unix.Rlimit
	require.NoError(t, unix.Getrlimit(unix.RLIMIT_NOFILE, &limit))
	if limit.Cur < 1200 {
		if os.Getenv("CI") != "" {
			t.Fatalf("only %d files may be open, 1200 are needed", limit.Cur)
		}
		t.Skipf("only %d files may be open", limit.Cur)
	}
	line := newTerminal(t)
	for range 1030 {
		f, err := os.Open(os.DevNull)
		require.NoError(t, err)
		defer f.Close()
	}
	r := run(t, "serial:"+line.port, newRecorder())
	line.say(t, readings(1, 2))
	assert.ErrorContains(t, r.ended(t), "the port does not work; unplug it and plug it in again, or use another (read "+line.port+": the port cannot be read because too many files and connections are open")
}
