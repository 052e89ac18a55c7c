package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/trial"
)

// second is a second of readings at 20 Hz from time t on.
func second(t, pa float64) bench.ReadingData {
	var d bench.ReadingData
	for i := range 20 {
		d.Readings = append(d.Readings, bench.Sample{T: t + float64(i)/20, Pressure: pa})
	}
	return d
}

// shown is what stands on the line of a terminal at last.
func shown(b *strings.Builder) string {
	lines := strings.Split(b.String(), "\r")
	return strings.TrimRight(lines[len(lines)-1], " ")
}

func TestTheLineShowsThePressure(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	p := &progress{w: &b, rewrite: true}
	p.reading(second(0, 5))
	assert.Empty(t, b.String(), "nothing is known yet")
	p.state(bench.StateData{Up: true, Phase: "rest"})
	p.reading(second(1, -3))
	assert.Equal(t, "rest, −3 Pa", shown(&b))
	p.reading(bench.ReadingData{Readings: []bench.Sample{{T: 2.1, Pressure: -8}}})
	assert.Equal(t, "rest, −3 Pa", shown(&b), "not faster than it can be read")

	p.state(bench.StateData{Up: true, Phase: "drawing"})
	assert.Equal(t, "drawing", shown(&b), "the pressure of before is not that of now")
	p.reading(second(3, -1234))
	assert.Equal(t, "drawing, 1.23 kPa", shown(&b))

	p.state(bench.StateData{Up: true, Phase: "holding"})
	p.estimate(bench.EstimateData{Held: 7.2, Outcome: trial.Outcome{SCCM: &decay.Estimate{Value: 2.1, U: 0.05}, Verdict: trial.Pass}})
	p.reading(second(10, -2310))
	assert.Equal(t, "holding 7 s, 2.31 kPa · 2.10 ± 0.10 sccm · pass so far", shown(&b))

	p.state(bench.StateData{Up: true, Phase: "rest"})
	assert.Equal(t, "rest", shown(&b), "an estimate ends with its hold")
	p.state(bench.StateData{Phase: "rest"})
	p.reading(second(20, 1))
	assert.Equal(t, "waiting for the gauge", shown(&b))
}

func TestAnAbsoluteGaugeShowsWhatItReadsAtRest(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	p := &progress{w: &b, rewrite: true}
	p.state(bench.StateData{Up: true, Phase: "rest", RestLevel: 98_310})
	p.reading(second(1, 2))
	assert.Equal(t, "rest, 98.31 kPa", shown(&b))
}

func TestOffATerminalNoPressureIsWritten(t *testing.T) {
	t.Parallel()
	var b strings.Builder
	p := &progress{w: &b}
	p.state(bench.StateData{Up: true, Phase: "rest"})
	p.reading(second(1, -3))
	assert.Equal(t, "rest\n", b.String())
}

func TestARestFarFromNoughtIsQuestionedOnce(t *testing.T) {
	t.Parallel()
	const question = "where about 0 was expected"
	for name, tt := range map[string]struct {
		play func(*progress)
		want int
	}{
		"a steady 101 kPa": {func(p *progress) {
			p.reading(second(1, 101_000))
			p.reading(second(2, 101_000))
			p.reading(second(3, 101_000))
		}, 1},
		"a steady −2 kPa": {func(p *progress) { p.reading(second(1, -2000)); p.reading(second(2, -2000)) }, 1},
		"away, back and away again: asked once": {func(p *progress) {
			for t, pa := range []float64{2000, 2000, 0, 2000, 2000} {
				p.reading(second(float64(t), pa))
			}
		}, 1},
		"an offset":          {func(p *progress) { p.reading(second(1, 350)); p.reading(second(2, 350)) }, 0},
		"half a second":      {func(p *progress) { p.reading(bench.ReadingData{Readings: second(1, 2000).Readings[:10]}) }, 0},
		"a draw that begins": {func(p *progress) { p.reading(ramp()); p.reading(second(3, -100)) }, 0},
		"what is being drawn": {func(p *progress) {
			p.state(bench.StateData{Up: true, Phase: "holding"})
			p.reading(second(1, -2500))
			p.reading(second(2, -2500))
		}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var b strings.Builder
			p := &progress{w: &b}
			p.state(bench.StateData{Up: true, Phase: "rest"})
			tt.play(p)
			assert.Equal(t, tt.want, strings.Count(b.String(), question), b.String())
		})
	}
}

// ramp falls 3 kPa in three seconds.
func ramp() bench.ReadingData {
	var d bench.ReadingData
	for i := range 60 {
		d.Readings = append(d.Readings, bench.Sample{T: float64(i) / 20, Pressure: -50 * float64(i)})
	}
	return d
}
