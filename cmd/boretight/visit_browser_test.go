//go:build unix

package main

import (
	"context"
	"encoding/json"
	"net/url"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long anything may take on a machine that is busy with other things.
const patience = 60 * time.Second

// chromium starts a browser that ends with the test.
func chromium(t *testing.T) context.Context {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		if os.Getenv("CI") == "" {
			t.Skip("no chromium in PATH")
		}
		require.NoError(t, err, "a visit is tested in a real browser")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	allocated, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, closeTab := chromedp.NewContext(allocated)
	t.Cleanup(closeTab)
	require.NoError(t, chromedp.Do(ctx), "start the browser")
	return ctx
}

// browsing is one browser's window on the program: what it shows, and what was wrong with it.
type browsing struct {
	*testing.T
	ctx  context.Context
	page string // the program's address

	mu     sync.Mutex
	told   []testimony
	wrong  []string // requests to others, faults of scripts, refusals
	broken []string // requests that failed; only those of an outage may
}

// testimony is what testdata/witness.js tells.
type testimony struct {
	Kind, Says, Of string
	At             int64 // ms, UTC
	Shift          float64
}

// browse opens a window with cookies and storage of its own: another browser, as far as the
// program can tell.
func browse(t *testing.T, browser context.Context, address string) *browsing {
	t.Helper()
	ctx, closeWindow := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(closeWindow)
	b := &browsing{T: t, ctx: ctx, page: address}
	require.NoError(t, chromedp.Do(ctx), "open a window")
	host, err := url.Parse(address)
	require.NoError(t, err)
	require.NoError(t, chromedp.Listen(ctx, func(event any) { b.note(event, host.Host) }))
	_, err = chromedp.Call(ctx, runtime.AddBinding, runtime.AddBindingParams{Name: "witness"})
	require.NoError(t, err)
	script, err := os.ReadFile("testdata/witness.js")
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: string(script)})
	require.NoError(t, err)
	// A window in the background would be throttled.
	_, err = chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
	require.NoError(t, err)
	return b
}

func (b *browsing) note(event any, host string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventBindingCalled:
		var t testimony
		if err := json.Unmarshal([]byte(e.Payload), &t); err != nil {
			b.wrong = append(b.wrong, err.Error())
		}
		b.told = append(b.told, t)
	case *network.EventRequestWillBeSent:
		if u, err := url.Parse(e.Request.URL); err != nil || u.Host != host {
			b.wrong = append(b.wrong, "asked for "+e.Request.URL)
		}
	case *runtime.EventExceptionThrown:
		b.wrong = append(b.wrong, e.ExceptionDetails.Text+" "+e.ExceptionDetails.Exception.Description)
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeWarning {
			b.wrong = append(b.wrong, "console: "+string(e.Type))
		}
	case *log.EventEntryAdded: // such as a refusal by the content security policy, or what autofocus did not do
		if strings.Contains(e.Entry.Text, "net::ERR_") {
			b.broken = append(b.broken, e.Entry.Text+" "+e.Entry.URL)
		} else {
			b.wrong = append(b.wrong, e.Entry.Text+" "+e.Entry.URL)
		}
	}
}

// of returns what was told of a kind, oldest first.
func (b *browsing) of(kind string) []testimony {
	b.mu.Lock()
	defer b.mu.Unlock()
	var all []testimony
	for _, t := range b.told {
		if t.Kind == kind {
			all = append(all, t)
		}
	}
	return all
}

// assertWell holds the window to what must be so all the time.
func (b *browsing) assertWell(outage bool) {
	b.Helper()
	assert.Empty(b, b.of("stale"), "a verdict that is not of now")
	assert.Empty(b, b.of("shift"), "what moved between isolation and vent, without anybody's doing")
	b.mu.Lock()
	defer b.mu.Unlock()
	assert.Empty(b, b.wrong)
	if !outage {
		assert.Empty(b, b.broken)
	}
}

// open goes to a page of the program.
func (b *browsing) open(path string) {
	b.Helper()
	require.NoError(b, chromedp.Do(b.ctx, chromedp.Navigate(b.page+path)))
}

// is reports whether a script's value is true; a page that is just being left has none.
func (b *browsing) is(script string) bool {
	got, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("(() => { try { return !!("+script+"); } catch { return false; } })()"))
	return err == nil && got
}

// until waits until a script's value is true.
func (b *browsing) until(script string) {
	b.Helper()
	deadline := time.Now().Add(patience)
	for !b.is(script) {
		if time.Now().After(deadline) {
			require.FailNow(b, "waited in vain", "for %s\nat %s, which says:\n%s", script, b.get("location.href"), b.get("document.body.innerText"))
		}
		time.Sleep(20 * time.Millisecond) // between two looks
	}
}

// get returns a script's text.
func (b *browsing) get(script string) string {
	b.Helper()
	got, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](script))
	require.NoError(b, err, script)
	return got
}

// text returns that of an element.
func (b *browsing) text(selector string) string {
	b.Helper()
	return strings.Join(strings.Fields(b.get(`document.querySelector(`+quoted(selector)+`)?.textContent ?? ""`)), " ")
}

func quoted(text string) string {
	q, _ := json.Marshal(text) // a text has no fault
	return string(q)
}
