package guided

import (
	"fmt"
	"math"
	"strings"
	"time"

	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// Scale is what a gauge is calibrated against: a water column, read in lengths, or a
// reference gauge, read in pressures.
type Scale struct {
	// Column is the water column; nil for a reference gauge.
	Column *rig.Column
	// Common is what all readings of the reference gauge share.
	Common []rig.Common
}

// Calibration leads through heights of a water column, or pressures of a reference gauge,
// that the person types while they stand still.
type Calibration struct {
	told     Told
	gauge    rig.Gauge
	absolute bool
	scale    Scale

	pairs []rig.Pair
	level float64       // what an absolute gauge reads at zero, Pa
	until time.Duration // readings up to here are used
	ended bool
}

// NewCalibration returns the procedure for a gauge with what it states of itself. An
// absolute gauge is calibrated against its own reading at zero, which must come first.
func NewCalibration(t Told, g rig.Gauge, kind trace.Kind, scale Scale) *Calibration {
	return &Calibration{told: t, gauge: g, absolute: kind == trace.Absolute, scale: scale}
}

// Next implements [Procedure].
func (c *Calibration) Next() string {
	what, example := "pressure of the reference gauge", "2.5kPa up or -1kPa down"
	if c.scale.Column != nil {
		what, example = "height of the water column", "250mm up or -100mm down"
	}
	switch {
	case c.Done():
		return "Calibration: all pairs are taken."
	case c.absolute && len(c.pairs) == 0:
		return "Calibration: the gauge is an absolute one; with both sides open type 0mm (or 0Pa) first."
	case len(c.pairs) < 6:
		return fmt.Sprintf("Calibration, pair %d: when all is still, type the %s, such as %s (negative is suction); done when enough.", len(c.pairs)+1, what, example)
	}
	return fmt.Sprintf("Calibration, pair %d: the next %s, back to take the last one away, or done.", len(c.pairs)+1, what)
}

// Held implements [Procedure]: holds are nothing to it.
func (c *Calibration) Held(string, *hold.Hold) Reply { return Reply{} }

// InputEnded implements [Procedure].
func (c *Calibration) InputEnded() { c.ended = true }

// Done implements [Procedure].
func (c *Calibration) Done() bool { return c.ended }

// Line implements [Procedure].
func (c *Calibration) Line(text string, recent []trace.Reading) Reply {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "":
		return Reply{}
	case "done":
		return c.enough()
	case "back":
		return c.back()
	}
	value, course, err := c.parse(text)
	if err != nil {
		return refused("%v", err)
	}
	s, wait, why := stand(recent, c.until)
	switch {
	case wait:
		return Reply{Wait: true}
	case why != "":
		return refused("%q does not count: %s", strings.TrimSpace(text), why)
	}
	return c.pair(strings.TrimSpace(text), value, course, s)
}

// enough ends the taking of pairs; with too few of them there is more to do.
func (c *Calibration) enough() Reply {
	const least = 3
	if len(c.pairs) < least {
		return refused("%d pairs make no calibration: at least three at three heights are needed", len(c.pairs))
	}
	c.ended = true
	return accepted("%d pairs taken", len(c.pairs))
}

// pair takes a reference with what the gauge read there.
func (c *Calibration) pair(text string, value float64, course rig.Course, s steady) Reply {
	if c.absolute && len(c.pairs) == 0 {
		if value != 0 {
			return refused("%q does not count: of an absolute gauge the zero must come first; open both sides and type 0mm (or 0Pa)", text)
		}
		c.level = s.mean
	}
	reading := s.mean - c.level
	p := c.at(value, reading, s.u, course)
	if why := c.odd(p); why != "" {
		return refused("%q does not count: %s", text, why)
	}
	c.pairs = append(c.pairs, p)
	c.until = s.until
	return accepted("pair %d: %s is %.1f Pa, the gauge reads %s, %+.1f Pa off%s", len(c.pairs), text, p.Reference, say(rig.Measured{Value: reading, U: s.u}, 1, "Pa"), reading-p.Reference, c.stray())
}

// stray asks about a pair that stands far from the line of the others.
func (c *Calibration) stray() string {
	i, off, found := rig.Stray(c.pairs)
	if !found {
		return ""
	}
	return fmt.Sprintf(". BUT pair %d, at %.0f Pa, stands %+.0f Pa off the line of the others: was its height mistyped? Type back until it is gone (the last pair goes first)", i+1, c.pairs[i].Reference, off)
}

// at returns a pair: a height in m or a pressure in Pa with what the gauge read there.
func (c *Calibration) at(value, reading, u float64, course rig.Course) rig.Pair {
	if c.scale.Column != nil {
		return c.scale.Column.Pair(value, reading, u, course)
	}
	return rig.Pair{Reference: value, Reading: reading, ReadingU: u, Course: course}
}

// odd says what cannot be of a pair.
func (c *Calibration) odd(p rig.Pair) string {
	const sure = 100 // Pa: beyond the offset at zero of a membrane gauge
	switch {
	case c.gauge.Min < c.gauge.Max && !c.absolute && (p.Reference < c.gauge.Min || p.Reference > c.gauge.Max):
		return fmt.Sprintf("it is %.1f Pa, outside the gauge's range of %.1f to %.1f Pa", p.Reference, c.gauge.Min, c.gauge.Max)
	case math.Abs(p.Reference) > sure && math.Abs(p.Reading) > sure && p.Reference*p.Reading < 0:
		return fmt.Sprintf("it is %.1f Pa, but the gauge reads %.1f Pa: suction is typed with a minus; or the hose is on the other side", p.Reference, p.Reading)
	case math.Abs(p.Reading-p.Reference) > sure+math.Abs(p.Reference)/2:
		return fmt.Sprintf("it is %.1f Pa, but the gauge reads %.1f Pa, more than half of it off: look at the height and its unit, and whether the hose is on", p.Reference, p.Reading)
	}
	return ""
}

// back takes the last pair away.
func (c *Calibration) back() Reply {
	n := len(c.pairs)
	if n == 0 {
		return refused("no pair has been taken yet that could be taken back")
	}
	c.pairs = c.pairs[:n-1]
	return accepted("pair %d no longer counts", n)
}

// parse reads "250mm up": a height or a pressure, and from which side it was approached.
func (c *Calibration) parse(text string) (value float64, course rig.Course, err error) {
	number := strings.TrimSpace(text)
	for _, k := range []rig.Course{rig.Up, rig.Down} {
		if rest, ok := strings.CutSuffix(strings.ToLower(number), " "+string(k)); ok {
			number, course = strings.TrimSpace(number[:len(rest)]), k
			break
		}
	}
	if c.scale.Column == nil {
		p, err := quantity.ParsePressure(number)
		return float64(p), course, err
	}
	negative := false
	for _, minus := range []string{"-", "−"} {
		if rest, ok := strings.CutPrefix(number, minus); ok {
			number, negative = rest, true
		}
	}
	l, err := quantity.ParseLength(number)
	if err != nil {
		return 0, course, fmt.Errorf("%w; or type back or done", err)
	}
	if negative {
		return -float64(l), course, nil
	}
	return float64(l), course, nil
}

// Record implements [Procedure].
func (c *Calibration) Record() (rig.Record, error) {
	if len(c.pairs) == 0 {
		return rig.Record{}, &rig.Refusal{Doing: "calibrate gauge", Found: "no pair was taken", Hint: "take three heights or more, up and down"}
	}
	gauge := c.gauge
	if c.absolute {
		gauge.Min, gauge.Max = 0, 0 // its range is of absolute pressures
	}
	calibration, err := c.calibrate(gauge)
	if err != nil {
		return rig.Record{}, err
	}
	return rig.Record{Kind: rig.KindCalibration, Rig: rig.Identity{Gauge: c.told.Rig.Gauge}, Notes: calibration.Doubts, Calibration: &calibration}, nil
}

// calibrate refuses a column that cannot stand before its pairs are looked at.
func (c *Calibration) calibrate(gauge rig.Gauge) (rig.Calibration, error) {
	if c.scale.Column == nil {
		return rig.Calibrate(gauge, c.pairs, c.scale.Common...)
	}
	if err := c.scale.Column.Validate(); err != nil {
		return rig.Calibration{}, err
	}
	return rig.Calibrate(gauge, c.pairs, c.scale.Column.Common()...)
}
