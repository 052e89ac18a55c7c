//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"time"

	"github.com/chromedp/chromedp"
)

// browsers are browsers on the page, each a program of its own, as on three computers.
type browsers struct {
	tabs  []context.Context
	stops []func()
}

// noting is the script that notes, from now on, the newest reading of each picture and
// when the frame after it began, in milliseconds of the wall clock.
const noting = `(() => {
	window.shown = [];
	document.getElementById("tide").addEventListener("drawn", (event) => {
		const t = event.detail;
		requestAnimationFrame(() => window.shown.push([t, performance.timeOrigin + performance.now()]));
	});
	return true;
})()`

// openBrowsers opens so many on the page.
func openBrowsers(ctx context.Context, dir, page string, n int) (*browsers, error) {
	b := &browsers{}
	if n == 0 {
		return b, nil
	}
	path, err := exec.LookPath("chromium")
	if err != nil {
		return nil, fmt.Errorf("open browsers: %w", err)
	}
	for i := range n {
		options := append(chromedp.DefaultExecAllocatorOptions[:],
			chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.UserDataDir(filepath.Join(dir, fmt.Sprintf("browser%d", i))),
			chromedp.WindowSize(1280, 800), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
		allocated, stop := chromedp.NewExecAllocator(ctx, options...)
		tab, closeTab := chromedp.NewContext(allocated)
		b.tabs, b.stops = append(b.tabs, tab), append(b.stops, closeTab, stop)
		if err := chromedp.Do(tab, chromedp.Navigate(page)); err != nil {
			b.close()
			return nil, fmt.Errorf("open browser %d: %w", i+1, err)
		}
	}
	return b, nil
}

// begin notes pictures from now on.
func (b *browsers) begin() error {
	var err error
	for _, tab := range b.tabs {
		_, e := chromedp.Run(tab, chromedp.Evaluate[bool](noting))
		err = errors.Join(err, e)
	}
	return err
}

// latencies returns how long each reading of the gauge that is shown took to each browser.
func (b *browsers) latencies(g *gauge) (all []time.Duration, err error) {
	for _, tab := range b.tabs {
		shown, err := chromedp.Run(tab, chromedp.Evaluate[[][2]float64](`window.shown`))
		if err != nil {
			return nil, fmt.Errorf("ask a browser what it has shown: %w", err)
		}
		all = append(all, latenciesOf(shown, g.wrote(), g.period)...)
	}
	return all, nil
}

// latenciesOf compares pictures (newest reading in s of the gauge's clock, wall time in
// ms) with the times at which readings were written. A reading is shown by the first
// picture with it or a later one.
func latenciesOf(shown [][2]float64, wrote []time.Time, period time.Duration) []time.Duration {
	var all []time.Duration
	next := -1
	for _, s := range shown {
		newest := int(s[0]/period.Seconds() + 0.5)
		if next < 0 {
			next = newest + 1 // what the first picture shows may be there for long
			continue
		}
		at := time.UnixMicro(int64(s[1] * 1e3))
		for ; next <= newest && next < len(wrote); next++ {
			all = append(all, at.Sub(wrote[next]))
		}
	}
	return all
}

// close closes the browsers.
func (b *browsers) close() {
	for _, stop := range b.stops {
		stop()
	}
}
