package plot_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/plot"
)

// column is what one column of pixels shows of points.
type column struct{ first, low, high, last float64 }

func columnsOf(points []plot.Point) map[float64]column {
	all := make(map[float64]column)
	for _, p := range points {
		c, ok := all[math.Floor(p.X)]
		if !ok {
			c = column{p.Y, p.Y, p.Y, p.Y}
		}
		all[math.Floor(p.X)] = column{c.first, min(c.low, p.Y), max(c.high, p.Y), p.Y}
	}
	return all
}

func TestThinningKeepsWhatEachColumnShows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ys := rapid.SliceOfN(rapid.Float64Range(-1000, 1000), 0, 400).Draw(t, "ys")
		step := rapid.Float64Range(0.01, 2).Draw(t, "step")
		points := make([]plot.Point, len(ys))
		for i, y := range ys {
			points[i] = plot.Point{X: float64(i) * step, Y: y}
		}
		kept := plot.Decimate(points, 1)
		require.Equal(t, columnsOf(points), columnsOf(kept))
		if len(points) >= 5 {
			require.LessOrEqual(t, len(kept), 4*len(columnsOf(points)))
		}
		next := 0
		for _, p := range kept { // a subsequence
			for next < len(points) && points[next] != p {
				next++
			}
			require.Less(t, next, len(points))
			next++
		}
	})
}

func TestThinningKeepsGaps(t *testing.T) {
	nan := plot.Point{X: math.NaN(), Y: 1}
	points := []plot.Point{{0.1, 1}, {0.2, 2}, {0.3, 1}, nan, nan, {0.4, 5}, {0.5, 4}, {0.6, 5}, {0.7, 5}}
	var gaps int
	kept := plot.Decimate(points, 1)
	for _, p := range kept {
		if math.IsNaN(p.X) {
			gaps++
		}
	}
	assert.Equal(t, 1, gaps)
	assert.Len(t, kept, 3+1+3)
}

func TestOneSpikeOfManyReadingsIsDrawn(t *testing.T) {
	h := plot.Hold{Suction: true}
	for i := range 100_000 {
		h.Readings = append(h.Readings, plot.Reading{Seconds: float64(i) / 1000, Pascals: -1000})
	}
	h.Readings[54_321].Pascals = -5000
	svg, err := plot.SVG{}.Write(h, plot.Size{Width: 400, Height: 300})
	require.NoError(t, err)
	assert.Less(t, len(svg), 30_000)
	_, description := h.Words()
	assert.Contains(t, description, "between 1.000 and 5.000 kPa")
	// The axis shows 0 to 5 kPa on 231.1 px: from 1 to 5 and back is 184.9 px.
	assert.Regexp(t, `s-ink" .*l[0-9.]+-184\.9l[0-9.]+ 184\.9`, string(svg))
}
