//go:build unix

package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/adrg/xdg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"boretight/internal/bench"
	"boretight/internal/config"
)

// restarted is a server that begins anew while a test looks at it through its address.
type restarted struct {
	*server
	t        *testing.T
	file     string // its configuration
	out, err *watched
	page     string
	client   *http.Client
	opened   string // file that has a line for each time that the browser was opened
	ended    chan error
}

// startAgain starts what a double click does, on a configuration.
func startAgain(ctx context.Context, t *testing.T, settings string) *restarted {
	t.Helper()
	folder := t.TempDir()
	r := &restarted{
		t: t, file: filepath.Join(folder, "boretight.toml"), out: &watched{}, err: &watched{},
		client: &http.Client{Transport: &http.Transport{}}, opened: filepath.Join(folder, "opened"), ended: make(chan error, 1),
	}
	bin := filepath.Join(folder, "bin")
	require.NoError(t, os.Mkdir(bin, 0o755))
	for _, browser := range []string{"xdg-open", "open"} {
		script := "#!/bin/sh\necho \"$1\" >> " + r.opened + "\n"
		require.NoError(t, os.WriteFile(filepath.Join(bin, browser), []byte(script), 0o755))
	}
	t.Setenv("PATH", bin+":"+os.Getenv("PATH"))
	t.Setenv("TMPDIR", folder)
	t.Setenv("XDG_DATA_HOME", folder)
	t.Setenv("XDG_CONFIG_HOME", folder)
	xdg.Reload()
	t.Cleanup(xdg.Reload)
	r.tell(settings)
	command := serveCmd{Config: r.file, Flags: benchFlags{Open: true}}
	r.server = newServer(app{out: r.out, err: r.err}, true, command.next)
	go func() { r.ended <- r.run(ctx) }()
	r.err.waitFor(t, "stop with Ctrl-C")
	r.page = strings.TrimSpace(r.out.String())
	return r
}

// tell writes the configuration, with an address and a ledger.
func (r *restarted) tell(settings string) {
	r.t.Helper()
	text := fmt.Sprintf("listen = \"127.0.0.1:0\"\nledger = %q\n%s\n", filepath.Join(filepath.Dir(r.file), "shop.boretight"), settings)
	require.NoError(r.t, os.WriteFile(r.file, []byte(text), 0o600))
}

// snapshot asks the page, which must answer whatever goes on.
func (r *restarted) snapshot() bench.Snapshot {
	r.t.Helper()
	answer, err := r.client.Get(r.page + "api/v1/snapshot")
	require.NoError(r.t, err)
	defer answer.Body.Close()
	require.Equal(r.t, http.StatusOK, answer.StatusCode)
	var s bench.Snapshot
	require.NoError(r.t, json.NewDecoder(answer.Body).Decode(&s))
	return s
}

// hears waits until the bench reads a gauge of an address.
func (r *restarted) hears(address string) {
	r.t.Helper()
	var s bench.Snapshot
	for range 600 {
		s = r.snapshot()
		require.Len(r.t, s.Gauges, 1)
		if s.Gauges[0].Address == address && s.Gauges[0].Up {
			return
		}
		<-time.After(50 * time.Millisecond)
	}
	require.FailNow(r.t, "another gauge", "it reads %s", s.Gauges[0].Address)
}

// TestTheBenchBeginsAnew goes from the simulated bench to a gauge on a port and back, past
// settings that cannot be, as a person at the page does who chooses a gauge. It must not
// run beside others: it counts goroutines and changes the environment.
func TestTheBenchBeginsAnew(t *testing.T) {
	master, name := port(t)
	feedReadings(t, master)
	defer goleak.VerifyNone(t, goleak.IgnoreCurrent())
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	r := startAgain(ctx, t, "")
	defer r.client.CloseIdleConnections()
	const simulated = demoGauge + "=sim:" + demoDevice
	r.hears(simulated)

	live, err := r.client.Get(r.page + "api/v1/live")
	require.NoError(t, err)
	defer live.Body.Close()
	r.tell(fmt.Sprintf("gauges = [\"serial:%s\"]", name))
	r.again()
	r.hears("serial:" + name)
	_, err = io.Copy(io.Discard, live.Body)
	assert.NoError(t, err, "the live stream of the bench before has ended, so that a page asks for another")

	r.tell("gauges = [\"nonsense\"]")
	r.again()
	r.err.waitFor(t, "going on as before")
	assert.Contains(t, r.err.String(), `gauge address \"nonsense\"`)
	r.hears("serial:" + name)

	r.tell("")
	r.again()
	r.again() // a second click
	r.hears(simulated)

	cancel()
	require.NoError(t, <-r.ended)
	assert.Equal(t, r.page+"\n", r.out.String(), "the address is said once")
	opened, err := os.ReadFile(r.opened)
	require.NoError(t, err)
	assert.Equal(t, r.page+"\n", string(opened), "the browser is opened once")
	left, err := filepath.Glob(filepath.Join(filepath.Dir(r.file), "boretight-demo-*"))
	require.NoError(t, err)
	assert.Empty(t, left, "the demo's ledger has ended with it")
	checked := runHere(context.Background(), "", "check", "--json", "--ledger", filepath.Join(filepath.Dir(r.file), "shop.boretight"))
	assert.Zero(t, checked.status, checked.err)
}

// TestTheDemoIsChangedInMemory changes what a demo is told for as long as it runs.
func TestTheDemoIsChangedInMemory(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	demo := demoCmd{Flags: benchFlags{Listen: "127.0.0.1:0"}}
	r := &restarted{t: t, out: &watched{}, err: &watched{}, client: http.DefaultClient, ended: make(chan error, 1)}
	r.server = newServer(app{out: r.out, err: r.err}, false, demo.next)
	go func() { r.ended <- r.run(ctx) }()
	r.err.waitFor(t, "stop with Ctrl-C")
	r.page = strings.TrimSpace(r.out.String())
	r.hears(demoGauge + "=sim:" + demoDevice)
	r.change(func(c *config.Config) { c.Gauges = []string{"other=sim:flute-body"} })
	r.again()
	r.hears("other=sim:flute-body")
	cancel()
	assert.NoError(t, <-r.ended)
}

// feedReadings plays a gauge at rest until the test ends.
func feedReadings(t *testing.T, master io.Writer) {
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
		tick := time.NewTicker(10 * time.Millisecond)
		defer tick.Stop()
		for seq := 1; ; seq++ {
			select {
			case <-stop:
				return
			case <-tick.C:
				body := fmt.Sprintf("BTRD,%d,%d,13.6,22.50,00", seq, seq*10_000)
				if _, err := fmt.Fprintf(master, "$%s*%s\r\n", body, crc(body)); err != nil {
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

func TestWhatABenchIsToldSaysWhereItWasTold(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "boretight.toml")
	require.NoError(t, os.WriteFile(file, []byte("listen = \"127.0.0.1:9999\"\n"), 0o600))
	command := serveCmd{Config: file, Flags: benchFlags{Open: true}}
	r, err := command.next(unchanged)
	require.NoError(t, err)
	assert.True(t, r.simulated, "no gauge is set up")
	assert.Equal(t, file, r.file, "where the page writes the gauge that is chosen")
	assert.Equal(t, "127.0.0.1:9999", r.told.Listen, "the address is the shop's already")

	r, err = command.next(func(c config.Config) config.Config {
		c.Gauges = []string{"serial:COM5"}
		return c
	})
	require.NoError(t, err)
	assert.False(t, r.simulated)
	assert.False(t, r.gaugesGiven)
	assert.Nil(t, r.joint)
	_, err = command.next(func(c config.Config) config.Config {
		c.Gauges = []string{"nonsense"}
		return c
	})
	assert.ErrorContains(t, err, `gauge address "nonsense"`)

	command.Flags.Gauge = []string{"sim:silent"}
	r, err = command.next(unchanged)
	require.NoError(t, err)
	assert.True(t, r.gaugesGiven, "which the file does not change")

	demo, err := (&demoCmd{}).next(unchanged)
	require.NoError(t, err)
	assert.Empty(t, demo.file, "the demo keeps no settings")
	assert.NotNil(t, demo.joint)
}
