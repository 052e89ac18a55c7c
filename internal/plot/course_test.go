package plot_test

import (
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/plot"
)

func drawn(t *testing.T, d plot.Drawing) string {
	t.Helper()
	svg, err := plot.SVG{}.Write(d, plot.Size{Width: 800, Height: 400})
	require.NoError(t, err)
	return string(svg)
}

func TestTheNewPicturesSayInWordsWhatTheyShow(t *testing.T) {
	for name, c := range map[string]struct {
		drawing plot.Drawing
		want    []string
	}{
		"overlay": {overlay(), []string{
			"as found: 3 holds, 1", "% left after 15 s", "as left: 3 holds, 7", "A joint within the limit (limit 1.5 sccm) would have more than 49 % left after 25 s."}},
		"overlay without": {plot.Overlay{Left: overlay().Left[:1]}, []string{"as left: 1 hold, 7", "No limit."}},
		"overlay empty":   {plot.Overlay{}, []string{"No readings."}},
		"overlay whose limit begins at nought": {plot.Overlay{Left: overlay().Left[:1], Wedge: []plot.Point{{X: 0, Y: 0}, {X: 9, Y: 0}}, Limit: "limit 1.5 sccm"},
			[]string{"No limit."}},
		"visits": {visits(), []string{
			"9 Jan 2024: as found 5.32 ± 0.42 sccm, fail; as left 0.61 ± 0.11 sccm, pass. 20 Feb 2025: as found 1.55 ± 0.20 sccm, inconclusive. 10 Mar 2026: as found",
			"1 Apr 2026: as found no leakage rate. Limit 1.5 sccm."}},
		"visits empty": {plot.Trend{}, []string{"No trials."}},
		"control":      {control(), []string{"24 checks from 2 Mar 2026 to 25 Mar 2026, 4 of them out of control.", "outside of its limits of -0.8 to 0.8."}},
		"hold":         {followed(), []string{"Below, what the curve leaves of the readings."}},
	} {
		t.Run(name, func(t *testing.T) {
			_, words := c.drawing.Words()
			for _, want := range c.want {
				assert.Contains(t, words, want)
			}
		})
	}
}

func TestALimitThatCannotBeDrawnIsNotNamed(t *testing.T) {
	o := plot.Overlay{Left: overlay().Left[:1], Wedge: []plot.Point{{X: 0, Y: 0}, {X: 9, Y: 0}}, Limit: "limit 1.5 sccm"}
	assert.NotContains(t, drawn(t, o), ">limit 1.5 sccm<")
	o.Wedge[0].Y, o.Wedge[1].Y = 2500, 1250
	assert.Contains(t, drawn(t, o), ">limit 1.5 sccm<")
}

func TestVisitsLieNightsApart(t *testing.T) {
	evening := time.Date(2026, 3, 2, 21, 0, 0, 0, time.UTC)
	between := func(hours time.Duration) string {
		return drawn(t, plot.Trend{Unit: "sccm", Seen: []plot.Seen{
			{Outcome: plot.Outcome{Value: 1}, At: evening, Visit: "T-1"}, {Outcome: plot.Outcome{Value: 1}, At: evening.Add(hours * time.Hour), Visit: "T-2"},
		}})
	}
	assert.Contains(t, between(2), "the same day")
	assert.Contains(t, between(11), "1 day")
	assert.Contains(t, between(40), "2 days")
}

// Holds of one joint lie on one another however far it was drawn.
func TestAnOverlayBeginsAllHoldsInOnePoint(t *testing.T) {
	like := func(from float64) plot.Traced {
		var h plot.Traced
		for x := range 100 {
			h.Points = append(h.Points, plot.Point{X: float64(x) / 10, Y: from * math.Exp(-float64(x)/100)})
		}
		return h
	}
	one, both := plot.Overlay{Left: []plot.Traced{like(2.5)}}, plot.Overlay{Left: []plot.Traced{like(2.5), like(29)}}
	path := regexp.MustCompile(`<path class="s-ink"[^>]* d="([^"]+)"`)
	traces := map[string]bool{}
	for _, svg := range []string{drawn(t, one), drawn(t, both)} {
		for _, found := range path.FindAllStringSubmatch(svg, -1) {
			if strings.Count(found[1], "l") > 50 {
				traces[found[1]] = true
			}
		}
	}
	assert.Len(t, traces, 1)
}

func TestATrendIsLogarithmicWhereItsValuesSpanTooMuch(t *testing.T) {
	seen := func(values ...float64) plot.Trend {
		var all plot.Trend
		for i, v := range values {
			all.Seen = append(all.Seen, plot.Seen{plot.Outcome{Value: v, Low: v - 0.1, High: v + 0.1}, time.Date(2026, 1, 1+i, 0, 0, 0, 0, time.UTC), "", false})
		}
		all.Unit = "sccm"
		return all
	}
	linear := func(d plot.Trend) bool { return regexp.MustCompile(`>0(\.0)?</text>`).MatchString(drawn(t, d)) }
	assert.True(t, linear(seen(0.5, 9.9)), "a factor of 19.8")
	assert.False(t, linear(seen(0.5, 10.1)))
	assert.True(t, linear(seen(-0.02, 3)), "what is not above nought tells no factor")
	limited := seen(0.5, 2)
	limited.Limit = 30
	assert.False(t, linear(limited), "the limit is to be seen, too")
	small := seen(1e-6, 3e-5)
	for i := range small.Seen {
		small.Seen[i].Low, small.Seen[i].High = math.NaN(), math.NaN()
	}
	small.Unit = "Pa·m³/s"
	assert.Contains(t, drawn(t, small), "leakage rate, 10⁻⁶ Pa·m³/s")
}

func TestTheTimeBetweenVisitsIsInWords(t *testing.T) {
	for days, want := range map[int]string{1: "1 day", 20: "20 days", 30: "4 weeks", 61: "2 months", 400: "13 months", 740: "2 years"} {
		var trend plot.Trend
		for _, after := range []int{0, days} {
			trend.Seen = append(trend.Seen, plot.Seen{plot.Outcome{Value: 1}, time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, after), "", false})
		}
		assert.Contains(t, drawn(t, trend), ">"+want+"</text>")
	}
}

func TestWhatTheFitLeavesHangsBelowOverTheSameTime(t *testing.T) {
	svg := drawn(t, followed())
	var clips []string
	for _, found := range regexp.MustCompile(`<clipPath id="[^"]+"><path d="M([0-9.]+) [0-9.]+l([0-9.]+) 0`).FindAllStringSubmatch(svg, -1) {
		clips = append(clips, found[1]+" "+found[2])
	}
	require.Len(t, clips, 2)
	assert.Equal(t, clips[0], clips[1], "left and width")
	low, err := plot.SVG{}.Write(followed(), plot.Size{Width: 800, Height: 200})
	require.NoError(t, err)
	assert.NotContains(t, string(low), "Δp − fit", "where there is no room, the trace is all")
}

// One knock must not flatten all else that the fit leaves.
func TestAKnockDoesNotStretchTheResiduals(t *testing.T) {
	h := followed()
	h.Residuals[100].Pascals = 900
	assert.NotContains(t, drawn(t, h), ">500</text>")
	assert.Contains(t, drawn(t, h), ">20</text>")
}

func TestNothingButFiguresIsDrawnOfTheNewPictures(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	wild := "\U0001F3B7 <oboe> \x00"
	trend := visits()
	trend.Title, trend.Unit = wild, wild
	trend.Seen = append(trend.Seen, plot.Seen{plot.Outcome{Value: 0.01, Low: nan, High: inf}, time.Time{}, wild, true})
	over := overlay()
	over.Title, over.Limit = wild, wild
	over.Found = append(over.Found, plot.Traced{}, plot.Traced{Points: []plot.Point{{nan, 1}, {1, nan}}}, plot.Traced{Points: []plot.Point{{0, 1}, {1, inf}, {2, 1}}, Curve: []plot.Interval{{0, nan, 1}, {1, 1, 2}}})
	over.Wedge[3].Y = nan
	rest := followed()
	rest.Residuals[5].Pascals, rest.Residuals[6].Seconds = nan, inf
	chart := control()
	chart.Spots[4].Value, chart.Spots[5].Low, chart.Unit = nan, nan, wild
	for name, d := range map[string]plot.Drawing{"trend": trend, "overlay": over, "rest": rest, "control": chart,
		"one check": plot.Control{Spots: chart.Spots[:1]}, "no residual": plot.Hold{Residuals: []plot.Reading{{nan, nan}}}} {
		t.Run(name, func(t *testing.T) {
			svg := drawn(t, d)
			assert.NotContains(t, svg, "NaN")
			assert.NotContains(t, svg, "Inf")
			assert.NotContains(t, svg, "<oboe>")
			var n notebook
			require.NoError(t, plot.PDF{Pen: &n, Family: "sans"}.Write(d, 170, 100))
			all := strings.Join(n.lines, "\n")
			assert.NotContains(t, all, "NaN")
			for _, r := range all {
				require.Less(t, r, rune(0x10000), "fpdf stops the program at such a character")
			}
		})
	}
}
