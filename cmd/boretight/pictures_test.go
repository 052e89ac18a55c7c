//go:build pictures && unix

package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

var shots = flag.String("shots", "", "write pictures of every page to this folder")

// Pictures to look at: whether a page is good, no test can say.
//
//	go test ./cmd/boretight -tags pictures -run Pictures -shots FOLDER
func TestPicturesOfEveryPage(t *testing.T) {
	require.NotEmpty(t, *shots, "say where with -shots")
	address := shop(t)
	b := browse(t, chromium(t), address)
	for _, s := range sheets(t, address) {
		s.show(b)
		for _, scheme := range []string{"light", "dark"} {
			prefer(b, map[string]string{"prefers-color-scheme": scheme})
			inLooks(b, looks, func(look string) {
				picture, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(*shots, s.name+"-"+look+"-"+scheme+".png"), picture, 0o644))
			})
		}
	}
}
