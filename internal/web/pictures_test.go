//go:build pictures

package web_test

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"boretight/internal/bench"
	"boretight/internal/trial"
)

var shots = flag.String("shots", "", "write pictures of the page in its states to this folder")

// Pictures to look at: whether a page is good, no test can say.
//
//	go test ./internal/web -tags pictures -run Pictures -shots FOLDER
func TestPicturesOfThePage(t *testing.T) {
	require.NotEmpty(t, *shots, "say where with -shots")
	ctx := browser(t)
	sizes := map[string][2]int64{"desk": {1280, 800}, "tablet": {768, 1024}, "phone": {390, 844}, "whole": {1280, 1500}, "upright": {768, 2000}}
	scenes := []struct {
		name  string
		play  func(f *fakeBench)
		ready string
	}{
		{"none", func(f *fakeBench) {
			f.state(func(s *bench.StateData) {
				s.Up, s.Problem = false, "open serial:/dev/ttyUSB0: no such port (is the gauge plugged in?)"
			})
		}, says + `"no gauge"`},
		{"rest", func(f *fakeBench) { f.rest(12) }, says + `"rest"`},
		{"drawing", func(f *fakeBench) { f.rest(12); f.draw() }, says + `"shut the valve"`},
		{"holding", func(f *fakeBench) {
			f.whole(2.31, 0.04, 14, trial.Pass)
			f.rest(4)
			f.draw()
			f.hold(2.44, 0.21, 7.2, trial.Inconclusive)
		}, `document.getElementById("state").textContent.startsWith("holding")`},
		{"pass", func(f *fakeBench) {
			f.whole(2.19, 0.022, 14, trial.Pass)
			f.whole(2.14, 0.024, 12, trial.Pass)
			f.whole(2.16, 0.022, 16, trial.Pass)
		}, says + `"pass"`},
		{"fail", func(f *fakeBench) {
			f.whole(12.4, 0.31, 8, trial.Fail)
			f.whole(11.9, 0.22, 8, trial.Fail)
		}, says + `"fail"`},
		{"inconclusive", func(f *fakeBench) {
			f.whole(2.41, 0.11, 5, trial.Inconclusive)
		}, says + `"inconclusive"`},
		{"disturbed", func(f *fakeBench) {
			f.whole(2.19, 0.022, 14, trial.Pass)
			f.disturbed(4.21)
		}, `document.getElementById("reservation").textContent !== ""`},
		{"certain", func(f *fakeBench) {
			f.whole(2.31, 0.04, 14, trial.Pass)
			f.rest(4)
			f.draw()
			f.hold(1.44, 0.11, 7.2, trial.Pass)
		}, says + `"pass"`},
		{"no-rate", func(f *fakeBench) {
			f.whole(2, 0.1, 5, trial.Inconclusive)
			var data bench.HoldData
			f.change(func(s *bench.Snapshot) {
				h := &s.Holds[0]
				h.LeakRate, h.SCCM = nil, nil
				h.Pressing, h.Notes = 1, []string{"Only 7 usable readings lie between isolation and vent; at least 10 are needed: hold longer, or take a faster gauge."}
				data = *h
			})
			f.Publish(bench.EventHold, data)
		}, `document.getElementById("value").textContent === "no leakage rate"`},
		{"warning", func(f *fakeBench) {
			f.rest(6)
			f.phase("drawing")
			f.state(func(s *bench.StateData) { s.Warning = "over 6 kPa: let it down now" })
			f.readings(1.5, func(t float64) float64 { return -6400 * t / 1.5 })
		}, says + `"too high"`},
	}
	for _, scene := range scenes {
		f := newFake()
		site := serve(t, f, "127.0.0.1:0")
		require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+site.address+"/")))
		until(t, ctx, listening)
		scene.play(f)
		until(t, ctx, scene.ready)
		for size, pixels := range sizes {
			for _, theme := range []string{"light", "dark"} {
				if theme == "dark" && size != "desk" && size != "tablet" {
					continue
				}
				_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
					Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: theme}}})
				require.NoError(t, err)
				require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(pixels[0], pixels[1])))
				time.Sleep(600 * time.Millisecond) // a picture of a page at rest; nothing is asserted of it
				picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
				require.NoError(t, err)
				name := filepath.Join(*shots, scene.name+"-"+size+"-"+theme+".png")
				require.NoError(t, os.WriteFile(name, picture, 0o644))
			}
		}
		site.stop()
	}
}
