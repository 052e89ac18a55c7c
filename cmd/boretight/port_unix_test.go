//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.bug.st/serial"
	"golang.org/x/term"

	"boretight/internal/trial"
)

// port makes a pseudo-terminal and returns its two sides; the port's name can be
// given to --gauge.
func port(t *testing.T) (master *os.File, name string) {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	_, err = term.MakeRaw(int(slave.Fd()))
	require.NoError(t, err)
	t.Cleanup(func() {
		slave.Close()
		master.Close()
	})
	return master, slave.Name()
}

// TestHoldOnAGaugeOfAnotherMake measures on a gauge written in another language from
// the protocol's description alone, over a serial line, clean and spoiled.
func TestHoldOnAGaugeOfAnotherMake(t *testing.T) {
	t.Parallel()
	python, err := exec.LookPath("python3")
	if err != nil && os.Getenv("CI") == "" {
		t.Skip("python3 is not installed")
	}
	require.NoError(t, err)
	for _, rate := range []int{100, 1000} {
		for name, damage := range map[string]float64{"clean": 0, "3 % spoiled": 0.03} {
			t.Run(fmt.Sprintf("%d Hz, %s", rate, name), func(t *testing.T) {
				t.Parallel()
				hold := holdOnPython(t, python, rate, damage, "--ambient", "98.3kPa")
				assert.InDelta(t, 13.6, hold.Zero.Value, 1, "the zero")
			})
		}
	}
	t.Run("an absolute gauge knows the ambient pressure", func(t *testing.T) {
		t.Parallel()
		hold := holdOnPython(t, python, 100, 0, "absolute")
		assert.InDelta(t, 98300, hold.Zero.Value, 1, "its zero is the ambient")
		assert.Contains(t, strings.Join(hold.Notes, " "), "The ambient pressure is the gauge's own at rest: 98.30 kPa.")
	})
}

// startPythonGauge starts a script that plays a gauge, and waits until its port is there.
// The script ends when its input does.
func startPythonGauge(t *testing.T, python string, args ...string) (stdin io.WriteCloser, stdout io.Reader) {
	t.Helper()
	gauge := exec.Command(python, args...)
	stdin, err := gauge.StdinPipe()
	require.NoError(t, err)
	stdout, err = gauge.StdoutPipe()
	require.NoError(t, err)
	gauge.Stderr = os.Stderr
	require.NoError(t, gauge.Start())
	t.Cleanup(func() {
		stdin.Close()
		gauge.Wait()
	})
	var ready string
	_, err = fmt.Fscanln(stdout, &ready)
	require.NoError(t, err)
	return stdin, stdout
}

// holdOnPython measures one hold and checks it against the truth. What is told of the
// ambient pressure are flags, or else the gauge is an absolute one.
func holdOnPython(t *testing.T, python string, rate int, damage float64, ambientFlags ...string) trial.Outcome {
	t.Helper()
	const k, volume, ambient, at = 0.05, 34.2e-6, 98300.0, 2500.0
	dir := t.TempDir()
	link := filepath.Join(dir, "port")
	args := []string{
		"testdata/gauge.py", "--link", link, "--k", fmt.Sprint(k),
		"--rate", strconv.Itoa(rate), "--damage", fmt.Sprint(damage), "--seed", strconv.Itoa(rate),
	}
	if ambientFlags[0] == "absolute" {
		args, ambientFlags = append(args, "--absolute"), nil
	}
	stdin, stdout := startPythonGauge(t, python, args...)

	address := "serial:" + link
	if rate > 200 {
		address += "?baud=921600"
	}
	p := start(t, programPath(t), append([]string{
		"hold", "--gauge", address, "--ledger", filepath.Join(dir, "l.boretight"),
		"--volume", "34.2ml", "--volume-u", "0.1ml", "--bore", "0.5mm",
		"--temperature", "22.5C", "--limit", "2.5sccm", "--span-u", "0", "--json",
	}, ambientFlags...)...)
	var hold trial.Outcome
	require.NoError(t, json.Unmarshal([]byte(p.line(60*time.Second)), &hold))
	var summary trial.Trial
	require.NoError(t, json.Unmarshal([]byte(p.line(10*time.Second)), &summary))
	p.wait()
	require.NoError(t, stdin.Close())
	var fate struct {
		Destroyed, Flipped []int
	}
	require.NoError(t, json.NewDecoder(stdout).Decode(&fate))

	// q = V·dp/dt where the laminar curve passes the stated difference.
	truth := volume * k * at * (2*ambient - at) / (2 * ambient)
	require.NotNil(t, hold.LeakRate)
	assert.LessOrEqual(t, hold.LeakRate.Low, truth)
	assert.GreaterOrEqual(t, hold.LeakRate.High, truth)
	assert.Equal(t, "vented", hold.Hold.Ending)
	assert.Equal(t, 1, summary.Holds)

	if damage == 0 {
		assert.Zero(t, hold.Hold.Lost)
		assert.NotContains(t, p.err.String(), "damaged")
		return hold
	}
	var readings, lost, damaged int
	for line := range strings.SplitSeq(p.err.String(), "\n") {
		if n, _ := fmt.Sscanf(line, "%d readings, %d lost, %d lines damaged", &readings, &lost, &damaged); n == 3 {
			break
		}
	}
	require.NotZero(t, readings, "the tally is printed")
	unread := func(n int) bool { return n >= readings+lost }
	gone := len(slices.DeleteFunc(fate.Destroyed, unread))
	assert.Equal(t, gone, lost, "what never left in one piece is lost, and nothing else")
	assert.GreaterOrEqual(t, damaged, len(slices.DeleteFunc(fate.Flipped, unread)), "and what came damaged is counted")
	return hold
}

// TestSim holds the simulated port to what its help says.
func TestSim(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	link := filepath.Join(dir, "gauge")
	require.NoError(t, os.Symlink("gone", link), "a link left behind")
	p := start(t, programPath(t), "sim", "--link", link)
	require.Equal(t, link, p.line(10*time.Second))

	h := start(t, programPath(t), "hold", "--gauge", "serial:"+link, "--volume", "17.9ml", "--limit", "2.5sccm",
		"--json", "--ledger", filepath.Join(dir, "l.boretight"))
	assert.Contains(t, h.line(60*time.Second), `"schema":"boretight/hold/1"`)
	assert.Contains(t, h.line(10*time.Second), `"schema":"boretight/trial/1"`)
	h.wait()

	assert.Zero(t, p.stop(os.Interrupt))
	_, err := os.Lstat(link)
	assert.ErrorIs(t, err, os.ErrNotExist, "the link goes with the port")

	file := filepath.Join(dir, "precious")
	require.NoError(t, os.WriteFile(file, []byte("keep"), 0o600))
	refused := runHere(t.Context(), "", "sim", "--link", file)
	assert.Equal(t, failed, refused.status)
	assert.Contains(t, refused.err, "is no link, so it is not replaced")
	kept, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "keep", string(kept))
	assert.Equal(t, usage, runHere(t.Context(), "", "sim", "--link", link, "--name", "nobody").status)
}

func TestHoldOnAPortThatIsBusy(t *testing.T) {
	t.Parallel()
	_, name := port(t)
	require.NoError(t, os.Chmod(name, 0o666))
	other, err := serial.Open(name, &serial.Mode{})
	require.NoError(t, err)
	defer other.Close()
	p := asAnotherUser(t, anybodysLedger(t), "hold", "--gauge", "serial:"+name)
	assert.Equal(t, int(failed), p.wait())
	assert.Contains(t, p.err.String(), "boretight: error: gauge serial:"+name+": the port is in use by another program")
}

func TestHoldOnAPortWithoutPermission(t *testing.T) {
	t.Parallel()
	_, name := port(t)
	require.NoError(t, os.Chmod(name, 0o000))
	p := asAnotherUser(t, anybodysLedger(t), "hold", "--gauge", "serial:"+name)
	assert.Equal(t, int(failed), p.wait())
	assert.Contains(t, p.err.String(), "no permission to open the port")
}

// asAnotherUser starts the program on a ledger, as nobody when this is root, to whom
// no port is busy and nothing forbidden.
func asAnotherUser(t *testing.T, ledger string, args ...string) *process {
	t.Helper()
	args = append(args, "--ledger", ledger)
	if os.Getuid() != 0 {
		return start(t, programPath(t), args...)
	}
	const nobody = "65534"
	wrap := []string{"--reuid=" + nobody, "--regid=" + nobody, "--clear-groups", programPath(t)}
	return start(t, "setpriv", append(wrap, args...)...)
}

// anybodysLedger returns a ledger's place that every user can write to.
func anybodysLedger(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "boretight-user-")
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(dir) })
	require.NoError(t, os.Chmod(dir, 0o777))
	return filepath.Join(dir, "l.boretight")
}

func TestHoldOnASilentPort(t *testing.T) {
	t.Parallel()
	_, name := port(t)
	p := start(t, programPath(t), "hold", "--gauge", "serial:"+name)
	p.err.waitFor(t, "nothing comes from the gauge: check its power, its cable and the baud rate")
	assert.Equal(t, int(undecided), p.stop(os.Interrupt), "no hold: nothing can be said")
}

func TestHoldAtTheWrongBaudRate(t *testing.T) {
	t.Parallel()
	master, name := port(t)
	p := start(t, programPath(t), "hold", "--gauge", "serial:"+name)
	feed(t, master, strings.Repeat("\xf8\x00\x1e\xe0\x80\x9e\xfe", 40))
	p.err.waitFor(t, "undecodable bytes: wrong baud rate")
	p.stop(syscall.SIGTERM)
}

func TestHoldOnAGaugeOfAnotherVersion(t *testing.T) {
	t.Parallel()
	master, name := port(t)
	p := start(t, programPath(t), "hold", "--gauge", "serial:"+name)
	feed(t, master, "$BTID,2,HX-1,G,-7500,7500,0.5,100*"+crc("BTID,2,HX-1,G,-7500,7500,0.5,100")+"\r\n")
	assert.Equal(t, int(failed), p.wait())
	assert.Regexp(t, `boretight: error: .*version`, p.err.String())
}

// feed writes a text to a port ten times a second until the test ends.
func feed(t *testing.T, master *os.File, text string) {
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(100 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-stop:
				return
			case <-tick.C:
				if _, err := master.WriteString(text); err != nil {
					return
				}
			}
		}
	}()
	t.Cleanup(func() {
		close(stop)
		<-stopped
	})
}

// crc is CRC-16/IBM-3740 in four upper-case digits.
func crc(body string) string {
	sum := uint16(0xffff)
	for _, b := range []byte(body) {
		sum ^= uint16(b) << 8
		for range 8 {
			if sum&0x8000 != 0 {
				sum = sum<<1 ^ 0x1021
			} else {
				sum <<= 1
			}
		}
	}
	return fmt.Sprintf("%04X", sum)
}
