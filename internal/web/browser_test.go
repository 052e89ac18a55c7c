package web_test

import (
	"context"
	"errors"
	"net"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
	"boretight/internal/web"
)

// browser starts a Chromium and returns a context of its first tab. Tests in browsers mostly
// wait, so they wait at once.
func browser(t *testing.T) context.Context {
	t.Helper()
	t.Parallel()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "" {
			t.Skip("no chromium in PATH")
		}
		require.NoError(t, err, "the page is tested in a real browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	allocated, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, closeTab := chromedp.NewContext(allocated)
	t.Cleanup(closeTab)
	require.NoError(t, chromedp.Do(ctx), "start the browser")
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		if e, ok := event.(*runtime.EventExceptionThrown); ok {
			t.Log("the page's script:", e.ExceptionDetails.Text, e.ExceptionDetails.Exception.Description)
		}
	}))
	return ctx
}

// served is a site that listens.
type served struct {
	address string
	stop    func()
}

func serve(t *testing.T, b web.Bench, address string) served {
	t.Helper()
	site, err := web.New(web.Options{Bench: b, Version: "test", House: utc})
	require.NoError(t, err)
	listener, err := net.Listen("tcp", address)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- site.Serve(ctx, listener) }()
	stop := sync.OnceFunc(func() {
		cancel()
		assert.NoError(t, <-ended)
	})
	t.Cleanup(stop)
	return served{listener.Addr().String(), stop}
}

// until waits until a script's value is true.
func until(t *testing.T, ctx context.Context, script string) {
	t.Helper()
	bounded, cancel := context.WithTimeout(ctx, 45*time.Second)
	defer cancel()
	_, err := chromedp.Run(bounded, chromedp.Poll[bool](script))
	for err != nil && bounded.Err() == nil { // a page that is loaded anew meanwhile
		time.Sleep(50 * time.Millisecond)
		_, err = chromedp.Run(bounded, chromedp.Poll[bool](script))
	}
	if err != nil {
		text, _ := chromedp.Run(ctx, chromedp.Evaluate[string]("document.body.innerText"))
		require.NoError(t, err, "waiting for %s; the page says:\n%s", script, text)
	}
}

func text(t *testing.T, ctx context.Context, id string) string {
	t.Helper()
	got, err := chromedp.Run(ctx, chromedp.Evaluate[string](`document.getElementById("`+id+`").textContent`))
	require.NoError(t, err)
	return got
}

// listening is true once the page's script has taken over: only it writes addresses.
const listening = `document.getElementById("gauges").textContent.includes("sim:oboe")`

const says = `document.getElementById("state").textContent === `

// watch collects what a page must not do: speak to others, or complain.
type watch struct {
	mu      sync.Mutex
	foreign []string
	faults  []string
}

func watching(t *testing.T, ctx context.Context, host string) *watch {
	t.Helper()
	w := &watch{}
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		w.mu.Lock()
		defer w.mu.Unlock()
		switch e := event.(type) {
		case *network.EventRequestWillBeSent:
			if u, err := url.Parse(e.Request.URL); err != nil || u.Host != host {
				w.foreign = append(w.foreign, e.Request.URL)
			}
		case *runtime.EventExceptionThrown:
			w.faults = append(w.faults, e.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
				w.faults = append(w.faults, string(e.Type))
			}
		case *log.EventEntryAdded: // such as a refusal by the content security policy
			w.faults = append(w.faults, e.Entry.Text)
		}
	}))
	return w
}

func (w *watch) assertQuiet(t *testing.T) {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	assert.Empty(t, w.foreign, "requests to other hosts")
	assert.Empty(t, w.faults, "faults in the page's script")
}

func TestPageInABrowser(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	site := serve(t, f, "127.0.0.1:0")
	w := watching(t, ctx, site.address)
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+site.address+"/")))
	until(t, ctx, listening)
	f.rest(3)
	until(t, ctx, says+`"rest"`)

	f.draw()
	until(t, ctx, says+`"shut the valve"`)
	f.hold(2.16, 0.022, 7.5, trial.Inconclusive)
	until(t, ctx, says+`"holding 7 s" && document.getElementById("value").textContent === "2.160"`)
	assert.Contains(t, text(t, ctx, "interval"), "so far, 95 % interval", "a running answer is marked as such")

	f.whole(2.164, 0.0221, 10, trial.Pass)
	until(t, ctx, says+`"pass"`)
	assert.Equal(t, "2.164", text(t, ctx, "value"))
	assert.Equal(t, "± 0.044", text(t, ctx, "u"))
	assert.Equal(t, "sccm", text(t, ctx, "unit"))
	assert.Equal(t, "95 % interval 2.121 to 2.207 sccm", text(t, ctx, "interval"))
	assert.Contains(t, text(t, ctx, "verdict"), "Limit 2.5 sccm at 2.50 kPa suction")
	assert.Contains(t, text(t, ctx, "rule"), "JCGM 106")
	assert.Contains(t, text(t, ctx, "aloud"), "pass: 2.164 plus or minus 0.044 sccm")
	until(t, ctx, `document.querySelectorAll("#holds tbody tr").length === 1`)

	t.Run("the result fills an eighth of the page's height", func(t *testing.T) {
		share, err := chromedp.Run(ctx, chromedp.Evaluate[float64](
			`document.getElementById("result").getBoundingClientRect().height / innerHeight`))
		require.NoError(t, err)
		assert.GreaterOrEqual(t, share, 1.0/8)
	})
	t.Run("a new draw takes the verdict away", func(t *testing.T) {
		f.draw()
		until(t, ctx, says+`"shut the valve"`)
		assert.Empty(t, text(t, ctx, "verdict"))
		assert.Empty(t, text(t, ctx, "u"))
		f.rest(1)
		until(t, ctx, says+`"rest"`)
		assert.Empty(t, text(t, ctx, "verdict"), "a draw that came to nothing does not bring the old verdict back")
	})
	t.Run("a gauge that goes is said", func(t *testing.T) {
		f.state(func(s *bench.StateData) { s.Up, s.Problem = false, "no such port" })
		until(t, ctx, says+`"no gauge" && document.getElementById("banners").textContent.includes("no such port")`)
		f.state(func(s *bench.StateData) { s.Up, s.Problem = true, "" })
		until(t, ctx, says+`"rest" && document.getElementById("banners").textContent === ""`)
	})
	t.Run("too much suction is said in huge letters", func(t *testing.T) {
		f.phase("drawing")
		f.readings(1, func(t float64) float64 { return -6500 * t })
		until(t, ctx, says+`"too high"`)
		f.rest(1)
		until(t, ctx, says+`"rest"`)
	})
	t.Run("a slow recording and losses are said though no event tells them", func(t *testing.T) {
		f.change(func(s *bench.Snapshot) { s.Ledger.Lag, s.Gauges[0].Lost = 3.25, 17 })
		until(t, ctx, `document.getElementById("banners").textContent.includes("recording is 3.3 s behind") &&
			document.getElementById("gauges").textContent.includes("17 readings lost")`)
		f.change(func(s *bench.Snapshot) { s.Ledger.Lag = 0 })
		until(t, ctx, `document.getElementById("banners").textContent === ""`)
	})
	t.Run("another gauge can be looked at", func(t *testing.T) {
		f.whole(2.2, 0.05, 6, trial.Pass)
		until(t, ctx, says+`"pass"`)
		f.change(func(s *bench.Snapshot) {
			s.Gauges = append(s.Gauges, bench.GaugeState{Name: "right", Address: "sim:flute",
				StateData: bench.StateData{Gauge: "right", Up: true, Phase: "rest"}})
		})
		until(t, ctx, `document.querySelectorAll("#tiles a").length === 2 && `+listening) // the page was loaded anew
		_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.querySelectorAll("#tiles a")[1].click(), true`))
		require.NoError(t, err)
		until(t, ctx, says+`"rest" && document.querySelector("#tiles a[aria-current]").dataset.gauge === "right"`)
		assert.Empty(t, text(t, ctx, "verdict"), "the verdict was the other gauge's")
		f.Publish(bench.EventReading, bench.ReadingData{Gauge: "right", Readings: []bench.Sample{{T: 1, Pressure: 1230}}})
		until(t, ctx, `document.getElementById("value").textContent === "1.23"`)
		f.change(func(s *bench.Snapshot) { s.Gauges = s.Gauges[:1] })
		f.Publish(bench.EventState, bench.StateData{Gauge: "gone"})
		until(t, ctx, says+`"pass" && !document.getElementById("tiles") && `+listening) // the page was loaded anew
	})
	t.Run("switches work by keyboard", func(t *testing.T) {
		for _, want := range []string{"light", "dark"} {
			_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.getElementById("theme").focus(), true`))
			require.NoError(t, err)
			require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent("\r")))
			until(t, ctx, `document.documentElement.dataset.theme === "`+want+`"`)
		}
		assert.Equal(t, "Theme: dark", text(t, ctx, "theme"))
	})
	t.Run("nothing scrolls sideways at any size", func(t *testing.T) {
		for _, width := range []int64{320, 390, 640, 768, 1280} {
			require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
			until(t, ctx, `document.documentElement.scrollWidth <= innerWidth`)
		}
		require.NoError(t, chromedp.Do(ctx, chromedp.EmulateReset()))
	})
	w.assertQuiet(t)

	t.Run("a program that goes is said, and heals by itself", func(t *testing.T) {
		f.whole(2.2, 0.05, 6, trial.Pass)
		until(t, ctx, says+`"pass"`)
		site.stop()
		until(t, ctx, says+`"no contact"`)
		assert.Empty(t, text(t, ctx, "verdict"), "no verdict without contact")
		serve(t, f, site.address)
		until(t, ctx, says+`"pass"`)
	})
}

// reload opens a page anew on what a bench has already seen.
func reload(t *testing.T, ctx context.Context, f *fakeBench) {
	t.Helper()
	site := serve(t, f, "127.0.0.1:0")
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+site.address+"/")))
	until(t, ctx, listening)
}

// inked is the share of the trace's columns in which something is drawn in ink between
// its axis and its top.
const inked = `(() => {
	const canvas = document.getElementById("tide"), width = canvas.width, height = canvas.height - 40;
	const data = canvas.getContext("2d").getImageData(0, 0, width, height).data;
	let columns = 0;
	for (let x = 0; x < width; x++) {
		for (let y = 0; y < height; y++) {
			const i = 4 * (y * width + x);
			if (data[i + 3] > 200 && data[i] < 60 && data[i + 1] < 60 && data[i + 2] < 60) { columns++; break; }
		}
	}
	return columns / width;
})()`

func TestAPageReloadedInMidHoldShowsAllOfIt(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	f.rest(3)
	f.draw()
	f.hold(2.16, 0.022, 12, trial.Inconclusive)
	// What the wedge and the fitted curve draw is not the trace.
	f.change(func(s *bench.Snapshot) { s.Gauges[0].Estimate.Curve, s.Gauges[0].Estimate.Wedge = nil, nil })
	reload(t, ctx, f)
	// Of the half minute in view, draw and hold have lasted 13.6 s.
	until(t, ctx, inked+` > 0.4`)
	assert.Contains(t, text(t, ctx, "state"), "holding")

	f.readings(1, func(float64) float64 { return -1500 })
	until(t, ctx, `document.getElementById("value").textContent !== ""`)
}

func TestVerdictsStandInBigLetters(t *testing.T) {
	ctx := browser(t)
	for _, verdict := range []trial.Verdict{trial.Pass, trial.Fail, trial.Inconclusive} {
		f := newFake()
		f.whole(2.41, 0.11, 8, verdict)
		reload(t, ctx, f)
		until(t, ctx, `document.getElementById("state").innerText === "`+strings.ToUpper(string(verdict))+`"`)
		for _, width := range []int64{390, 768, 1280} {
			require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
			fits := `document.getElementById("word").scrollWidth <= document.getElementById("word").clientWidth`
			until(t, ctx, fits)
		}
		require.NoError(t, chromedp.Do(ctx, chromedp.EmulateReset()))
	}
}

func TestACertainVerdictStandsInBigLettersWhileTheHoldGoesOn(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	reload(t, ctx, f)
	f.rest(3)
	f.draw()
	f.hold(1.44, 0.11, 7.2, trial.Pass)
	until(t, ctx, says+`"pass" && document.getElementById("advice").textContent === "Certain after 7 s: the valve may be opened."`)
	assert.Contains(t, text(t, ctx, "interval"), "so far")
}

func TestADisturbedHoldSaysSoUnderItsVerdict(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	reload(t, ctx, f)
	f.disturbed(4.21)
	until(t, ctx, says+`"pass" && document.getElementById("reservation").textContent === "up to 4.2 s, then disturbed"`)
	assert.Equal(t, "A leak opened. Limits were guessed.", text(t, ctx, "pressing"))
	assert.Contains(t, text(t, ctx, "aloud"), "pass up to 4.2 s, then disturbed: 2.160 plus or minus 0.044 sccm")
	f.draw()
	until(t, ctx, says+`"shut the valve"`)
	assert.Empty(t, text(t, ctx, "reservation")+text(t, ctx, "pressing"), "the next hold is another one")
}

func TestTheListIsNotCut(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	f.disturbed(4.21)
	f.whole(2.41, 0.11, 8, trial.Inconclusive)
	f.change(func(s *bench.Snapshot) {
		s.Holds[0].Notes = append(s.Holds[0].Notes, strings.Repeat("A note may be as long as a sentence is. ", 6))
	})
	reload(t, ctx, f)
	until(t, ctx, `document.querySelectorAll("#holds tbody tr").length === 2`)
	for _, width := range []int64{640, 768, 1280} {
		require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
		until(t, ctx, `document.querySelector(".scroll").scrollWidth <= document.querySelector(".scroll").clientWidth`)
	}
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateReset()))
}

func TestBudgetsAreBarsThatFillTheirShare(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	f.whole(2.16, 0.022, 9, trial.Pass)
	reload(t, ctx, f)
	share := `(() => {
		const svg = document.querySelector(".budget svg");
		return svg.querySelector("rect").getBoundingClientRect().width / svg.getBoundingClientRect().width;
	})()`
	until(t, ctx, `document.querySelectorAll(".budget li").length === 2`)
	got, err := chromedp.Run(ctx, chromedp.Evaluate[float64](share))
	require.NoError(t, err)
	assert.InDelta(t, 0.64, got, 0.01)
	for _, width := range []int64{390, 768, 1280} {
		require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(width, 800)))
		until(t, ctx, `[...document.querySelectorAll(".budget svg")].every((bar) => bar.getBoundingClientRect().width > 60)`)
	}
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateReset()))
}

// A program that is there but says nothing, as when a network is cut, sends no end
// of the stream: the page must notice the silence.
func TestPageNoticesSilence(t *testing.T) {
	ctx := browser(t)
	f := newFake()
	site := serve(t, f, "127.0.0.1:0")
	proxy := newProxy(t, site.address)
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+proxy.address+"/")))
	until(t, ctx, listening)
	f.rest(1)
	until(t, ctx, says+`"rest"`)
	proxy.freeze()
	until(t, ctx, says+`"no contact"`)
	proxy.thaw()
	until(t, ctx, says+`"rest"`)
}

// proxy passes bytes on until it is frozen.
type proxy struct {
	address string
	mu      sync.Mutex
	flow    *sync.Cond
	frozen  bool
}

func newProxy(t *testing.T, target string) *proxy {
	t.Helper()
	listener, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	p := &proxy{address: listener.Addr().String()}
	p.flow = sync.NewCond(&p.mu)
	var pumps sync.WaitGroup
	pump := func(to, from net.Conn) {
		defer to.Close()
		buffer := make([]byte, 4096)
		for {
			n, err := from.Read(buffer)
			p.mu.Lock()
			for p.frozen {
				p.flow.Wait()
			}
			p.mu.Unlock()
			if _, failed := to.Write(buffer[:n]); failed != nil || err != nil {
				return
			}
		}
	}
	pumps.Go(func() {
		for {
			near, err := listener.Accept()
			if err != nil {
				if !errors.Is(err, net.ErrClosed) {
					t.Error(err)
				}
				return
			}
			far, err := net.Dial("tcp", target)
			if err != nil {
				near.Close()
				continue
			}
			pumps.Go(func() { pump(far, near) })
			pumps.Go(func() { pump(near, far) })
		}
	})
	t.Cleanup(func() {
		p.thaw()
		listener.Close()
	})
	return p
}

func (p *proxy) freeze() { p.set(true) }
func (p *proxy) thaw()   { p.set(false) }

func (p *proxy) set(frozen bool) {
	p.mu.Lock()
	p.frozen = frozen
	p.mu.Unlock()
	p.flow.Broadcast()
}

func TestPageHoldsNoAbsoluteAddress(t *testing.T) {
	f := newFake()
	f.whole(2.16, 0.022, 10, trial.Pass)
	page := get(t, f, "/").Body.String()
	for _, mark := range []string{"http:", "https:", `="//`, "url(", " style=", "<script>"} {
		assert.NotContains(t, strings.ToLower(page), mark)
	}
}
