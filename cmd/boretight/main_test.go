package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"boretight/internal/ledger"
	"boretight/internal/ledger/sqlite"
)

func TestMain(m *testing.M) {
	testscript.Main(cleaning{m}, map[string]func(){"boretight": main})
}

// cleaning removes the built program after the tests.
type cleaning struct{ *testing.M }

func (c cleaning) Run() int {
	defer func() { os.RemoveAll(builtIn) }()
	flag.Parse()
	atOnce := flag.Lookup("test.parallel")
	if atOnce.Value.String() == atOnce.DefValue {
		_ = flag.Set(atOnce.Name, strconv.Itoa(mostWaiting*runtime.GOMAXPROCS(0)))
	}
	return c.M.Run()
}

// mostWaiting is how many tests there may be for each processor: they mostly wait, for gauges
// that take their time and for browsers.
const mostWaiting = 3

// TestScripts runs the whole program as people type it; see testdata/script.
func TestScripts(t *testing.T) {
	t.Parallel()
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			// Nobody's own settings or ledger may be touched.
			e.Setenv("HOME", e.WorkDir)
			for _, v := range []string{"XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CONFIG_DIRS", "XDG_DATA_DIRS"} {
				e.Setenv(v, e.WorkDir+"/"+strings.ToLower(v))
			}
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"mktrace": makeTrace,
			"status":  expectStatus,
			"export1": exportFirst,
			"kept":    expectKept,
			"trials":  onTrials,
		},
	})
}

// expectStatus runs a command line and wants its exit status: status 3 boretight fit …
func expectStatus(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) < 2 {
		ts.Fatalf("usage: status N command…")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	err = ts.Exec(args[1], args[2:]...)
	got := 0
	if coder, ok := err.(interface{ ExitCode() int }); ok {
		got = coder.ExitCode()
	} else if err != nil {
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// makeTrace writes a trace of a laminar leak at constant temperature in closed form:
// mktrace FILE [key=value…]. Keys: k (C/V in 1/s), rate (Hz), rest, draw, hold, after
// (s), start (Pa), holds, min (the gauge's end of range in Pa).
func makeTrace(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) == 0 {
		ts.Fatalf("usage: mktrace FILE [key=value…]")
	}
	p := map[string]float64{"k": 0.05, "rate": 100, "rest": 3, "draw": 0.5, "hold": 8, "after": 2.5, "start": 2750, "holds": 1, "min": -7500}
	for _, arg := range args[1:] {
		key, value, _ := strings.Cut(arg, "=")
		if _, known := p[key]; !known {
			ts.Fatalf("mktrace: unknown key %q", key)
		}
		x, err := strconv.ParseFloat(value, 64)
		ts.Check(err)
		p[key] = x
	}
	var b bytes.Buffer
	b.WriteString("t_s,pressure_pa,temperature_c,status\n")
	random := rand.New(rand.NewPCG(7, 7))
	cycle := p["rest"] + p["draw"] + p["hold"] + p["after"]
	for i := range int(cycle * p["holds"] * p["rate"]) {
		t := float64(i) / p["rate"]
		pressure := 13.6 - deltaAt(p, math.Mod(t, cycle)) + random.NormFloat64()
		status := "00"
		if pressure < p["min"] {
			pressure, status = p["min"], "01"
		}
		fmt.Fprintf(&b, "%.3f,%.1f,22.50,%s\n", t, pressure, status)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o644))
}

func deltaAt(p map[string]float64, t float64) float64 {
	const ambient = 98300
	start := p["start"]
	held := func(t float64) float64 {
		e := math.Exp(-p["k"] * t)
		return 2 * ambient * start * e / (2*ambient - start + start*e)
	}
	drawn := p["rest"] + p["draw"]
	switch vented := drawn + p["hold"]; {
	case t < p["rest"]:
		return 0
	case t < drawn:
		return start * (t - p["rest"]) / p["draw"]
	case t < vented:
		return held(t - drawn)
	default:
		return held(p["hold"]) * math.Exp(-(t-vented)/0.02)
	}
}

// exportFirst exports the first hold of a list that hold --json printed: export1
// LEDGER LIST FILE.
func exportFirst(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: export1 LEDGER LIST FILE")
	}
	var first struct{ ID string }
	ts.Check(json.NewDecoder(strings.NewReader(ts.ReadFile(args[1]))).Decode(&first))
	ts.Check(ts.Exec("boretight", "export", "--ledger", args[0], "--hold", first.ID, "--out", args[2]))
	if ts.Exec("boretight", "export", "--ledger", args[0], "--hold", first.ID, "--out", args[2]) == nil {
		ts.Fatalf("export wrote over a file that was there")
	}
}

// result is what a command line run within the test said.
type result struct {
	status   status
	out, err string
}

// runHere runs a command line within the test.
func runHere(ctx context.Context, in string, args ...string) result {
	var out, err bytes.Buffer
	s := run(ctx, args, app{in: strings.NewReader(in), out: &out, err: &err})
	return result{s, out.String(), err.String()}
}

// expectKept wants a record in a ledger: kept LEDGER KIND TEXT, where TEXT is part of
// the content.
func expectKept(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: kept LEDGER KIND TEXT")
	}
	store, err := sqlite.OpenReadOnly(context.Background(), ts.MkAbs(args[0]))
	ts.Check(err)
	defer store.Close()
	records, err := store.Records(context.Background(), ledger.RecordKind(args[1]))
	ts.Check(err)
	for _, r := range records {
		if strings.Contains(string(r.Content), args[2]) {
			if neg {
				ts.Fatalf("%s holds %s", args[0], r.Content)
			}
			return
		}
	}
	if neg {
		return
	}
	for _, r := range records {
		ts.Logf("%s: %s", r.Kind, r.Content)
	}
	ts.Fatalf("none of %d records of kind %s in %s has %s", len(records), args[1], args[0], args[2])
}

// onTrials compares two trials that hold --json printed, by the least of their identities
// that tells them apart: trials compare LEDGER FOUND LEFT; compare! wants it refused.
func onTrials(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 4 {
		ts.Fatalf("usage: trials compare LEDGER FOUND LEFT")
	}
	var ids [2]string
	for i, file := range args[2:] {
		for line := range strings.Lines(ts.ReadFile(file)) {
			var printed struct{ Schema, ID string }
			ts.Check(json.Unmarshal([]byte(line), &printed))
			if printed.Schema == "boretight/trial/1" {
				ids[i] = printed.ID[:13] // down to the millisecond
			}
		}
	}
	err := ts.Exec("boretight", "compare", ids[0], ids[1], "--json", "--ledger", args[1])
	if refused := strings.HasSuffix(args[0], "!"); refused != (err != nil) {
		ts.Fatalf("compare: %v", err)
	}
}
