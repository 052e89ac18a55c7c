package web

import (
	"fmt"
	"math"
	"strings"

	"boretight/internal/bench"
)

// Small tides are the holds of a trial drawn side by side on one scale, so that they
// can be compared by eye. Size of one in units of its view box.
const (
	tideWidth  = 200.0
	tideHeight = 72.0
)

// scale is what holds drawn side by side have in common.
type scale struct{ seconds, pascals float64 }

// scaleOf returns the scale on which all traces fit.
func scaleOf(holds []bench.HoldData) scale {
	s := scale{seconds: 1, pascals: 100}
	for _, hold := range holds {
		begin := beginOf(hold)
		for _, sample := range hold.Trace {
			s.seconds = max(s.seconds, sample.T-begin)
			s.pascals = max(s.pascals, math.Abs(sample.Pressure))
		}
	}
	s.pascals *= 1.05
	return s
}

// words are the scale for people.
func (s scale) words(u shown) string {
	return fmt.Sprintf("%s s wide and %s high", fixed(s.seconds, 0), u.pressure(s.pascals))
}

// beginOf is where a small tide begins: 2 s before isolation, or at its first reading.
func beginOf(hold bench.HoldData) float64 {
	if len(hold.Trace) == 0 {
		return 0
	}
	first := hold.Trace[0].T
	if hold.Hold == nil {
		return first
	}
	return max(first, hold.Hold.Start-2)
}

// outline returns the trace as the path of an SVG, and the same closed to an area.
func (s scale) outline(hold bench.HoldData) (line, area string) {
	begin := beginOf(hold)
	var b strings.Builder
	var last string
	var first string
	for _, sample := range hold.Trace {
		if sample.T < begin {
			continue
		}
		x := fixed((sample.T-begin)/s.seconds*tideWidth, 1)
		y := fixed(tideHeight*(1-math.Abs(sample.Pressure)/s.pascals), 1)
		if b.Len() == 0 {
			b.WriteString("M" + x + " " + y)
			first = x
		} else {
			b.WriteString("L" + x + " " + y)
		}
		last = x
	}
	if b.Len() == 0 {
		return "", ""
	}
	floor := fixed(tideHeight, 1)
	return b.String(), b.String() + "L" + last + " " + floor + "L" + first + " " + floor + "Z"
}
