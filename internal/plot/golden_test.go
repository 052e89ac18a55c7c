package plot_test

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/plot"
)

var update = flag.Bool("update", false, "write the golden pictures anew; look at them")

func TestPicturesAreThoseThatWereLookedAt(t *testing.T) {
	wide, small := plot.Size{Width: 800, Height: 400}, plot.Size{Width: 400, Height: 300}
	disturbed := hold()
	disturbed.Wedge, disturbed.Limit = nil, ""
	for name, picture := range map[string]struct {
		drawing plot.Drawing
		size    plot.Size
	}{
		"hold-wide":            {hold(), wide},
		"hold-small":           {hold(), small},
		"hold-no-limit":        {disturbed, small},
		"hold-empty":           {plot.Hold{Suction: true}, small},
		"budget-wide":          {budget(), plot.Size{Width: 800, Height: 240}},
		"budget-small":         {budget(), plot.Size{Width: 400, Height: 120}},
		"budget-empty":         {plot.Budget{}, plot.Size{Width: 400, Height: 120}},
		"change-wide":          {change(), plot.Size{Width: 800, Height: 160}},
		"change-small":         {change(), plot.Size{Width: 400, Height: 160}},
		"change-no-limit":      {plot.Change{Outcomes: change().Outcomes[:1], Unit: "sccm"}, plot.Size{Width: 400, Height: 120}},
		"hold-residuals-wide":  {followed(), plot.Size{Width: 860, Height: 560}},
		"hold-residuals-small": {followed(), plot.Size{Width: 358, Height: 420}},
		"overlay-wide":         {overlay(), wide},
		"overlay-small":        {overlay(), plot.Size{Width: 358, Height: 300}},
		"overlay-found":        {plot.Overlay{Found: overlay().Found}, small},
		"overlay-empty":        {plot.Overlay{}, small},
		"visits-wide":          {visits(), wide},
		"visits-small":         {visits(), plot.Size{Width: 358, Height: 300}},
		"visits-log":           {spread(), wide},
		"visits-one":           {plot.Trend{Seen: visits().Seen[:1], Unit: "sccm"}, small},
		"visits-empty":         {plot.Trend{Unit: "sccm"}, small},
		"control-wide":         {control(), plot.Size{Width: 800, Height: 300}},
		"control-small":        {control(), plot.Size{Width: 358, Height: 260}},
		"control-empty":        {plot.Control{Unit: "%"}, small},
		"trend-wide":           {trend(), wide},
		"trend-small":          {trend(), small},
	} {
		t.Run(name, func(t *testing.T) {
			svg, err := plot.SVG{ID: name}.Write(picture.drawing, picture.size)
			require.NoError(t, err)
			golden := filepath.Join("testdata", name+".svg")
			if *update {
				require.NoError(t, os.WriteFile(golden, svg, 0o644))
			}
			want, err := os.ReadFile(golden)
			require.NoError(t, err, "write it with -update, and look at it")
			assert.Equal(t, string(want), string(svg), "look at both; -update if the new one is better")
		})
	}
}
