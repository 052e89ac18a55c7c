package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"boretight/internal/bench"
	"boretight/internal/hold"
)

// meter is the pressure as the line of the progress shows it.
type meter struct {
	t  float64 // s, on the gauge's clock
	pa float64 // at rest as the gauge shows it, else the difference
}

// meterEvery is how often in s the line shows another pressure: faster, it could not be
// read.
const meterEvery = 0.25

// reading shows the pressure on a terminal, so that a wrong field or unit is seen before
// anything is drawn, and asks where a gauge rests far from 0.
func (p *progress) reading(d bench.ReadingData) {
	resting := p.now.Phase == hold.Rest.String()
	for _, s := range d.Readings {
		if p.away.take(s, resting) {
			p.say(fmt.Sprintf("At rest the gauge shows %s where about 0 was expected. Is the joint open to the room, or is the valve shut with a difference in it? Vent first. "+
				"Is it the right number of the line (field=), in the right unit (unit=), of a gauge that shows differences (else kind=absolute)?", pressureText(s.Pressure)))
		}
	}
	if !p.rewrite || len(d.Readings) == 0 || !p.now.Up || p.doing == "" {
		return
	}
	s := d.Readings[len(d.Readings)-1]
	if p.meter != nil && s.T >= p.meter.t && s.T < p.meter.t+meterEvery {
		return
	}
	p.meter = &meter{t: s.T, pa: math.Abs(s.Pressure)}
	if resting {
		p.meter.pa = s.Pressure + p.now.RestLevel
	}
	p.show()
}

// text is the pressure behind a comma; empty while there is none.
func (m *meter) text() string {
	if m == nil {
		return ""
	}
	return ", " + pressureText(m.pa)
}

// pressureText writes a pressure in pascals, from 1 kPa on in kilopascals.
func pressureText(pa float64) string {
	text := strconv.FormatFloat(pa/1000, 'f', 2, 64) + " kPa"
	if math.Abs(pa) < 999.5 {
		text = strconv.FormatFloat(pa, 'f', 0, 64) + " Pa"
	}
	if text == "-0 Pa" {
		return "0 Pa"
	}
	return strings.Replace(text, "-", "−", 1)
}

const (
	// farFromRest in Pa: gauges are off by less at rest. Common practice, no source.
	farFromRest = 400
	// restSteady in Pa and restFor in s tell a rest from a draw that has begun.
	restSteady = 100
	restFor    = 1
)

// resting watches for a gauge that stays far from 0 while nothing is drawn.
type resting struct {
	begun, asked   bool
	from, low, top float64
}

// take reports whether it is time to ask about it.
func (r *resting) take(s bench.Sample, atRest bool) bool {
	if !atRest || math.Abs(s.Pressure) <= farFromRest {
		*r = resting{}
		return false
	}
	low, top := min(r.low, s.Pressure), max(r.top, s.Pressure)
	if !r.begun || top-low > restSteady || s.T < r.from {
		*r = resting{begun: true, asked: r.asked, from: s.T, low: s.Pressure, top: s.Pressure}
		return false
	}
	r.low, r.top = low, top
	if r.asked || s.T-r.from < restFor {
		return false
	}
	r.asked = true
	return true
}
