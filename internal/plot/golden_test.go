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
		"hold-wide":       {hold(), wide},
		"hold-small":      {hold(), small},
		"hold-no-limit":   {disturbed, small},
		"hold-empty":      {plot.Hold{Suction: true}, small},
		"budget-wide":     {budget(), plot.Size{Width: 800, Height: 240}},
		"budget-small":    {budget(), plot.Size{Width: 400, Height: 120}},
		"budget-empty":    {plot.Budget{}, plot.Size{Width: 400, Height: 120}},
		"change-wide":     {change(), plot.Size{Width: 800, Height: 160}},
		"change-small":    {change(), plot.Size{Width: 400, Height: 160}},
		"change-no-limit": {plot.Change{Outcomes: change().Outcomes[:1], Unit: "sccm"}, plot.Size{Width: 400, Height: 120}},
		"trend-wide":      {trend(), wide},
		"trend-small":     {trend(), small},
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
