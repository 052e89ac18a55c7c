package plot

import (
	"fmt"
	"time"
)

// Spot is one check of a rig: its value, the average of those up to it that weighs the newer
// ones more, and the limits of that average.
type Spot struct {
	At                        time.Time // in the zone that dates are shown in
	Value, Average, Low, High float64
	Out                       bool // the average lies outside of its limits
}

// Control is a control chart of the checks of a rig with a reference leak.
type Control struct {
	Title  string
	Spots  []Spot  // in their order
	Target float64 // what the average should be
	Name   string  // of the values: "deviation from the certificate"
	Unit   string
}

var _ Drawing = Control{}

// Words implements [Drawing].
func (c Control) Words() (title, description string) {
	title = orElse(c.Title, "Checks of the rig")
	if len(c.Spots) == 0 {
		return title, "No checks."
	}
	out := 0
	for _, s := range c.Spots {
		if s.Out {
			out++
		}
	}
	newest := c.Spots[len(c.Spots)-1]
	state := "within"
	if newest.Out {
		state = "outside of"
	}
	return title, fmt.Sprintf("%d checks from %s to %s, %d of them out of control. The newest average is %.4g %s, %s its limits of %.4g to %.4g.",
		len(c.Spots), c.Spots[0].day(), newest.day(), out, newest.Average, clean(c.Unit), state, newest.Low, newest.High)
}

func (s Spot) day() string { return s.At.Format("2 Jan 2006") }

// Draw implements [Drawing].
func (c Control) Draw(canvas Canvas, size Size) { c.chart().Draw(canvas, size) }

func (c Control) chart() Chart {
	n := float64(len(c.Spots))
	chart := Chart{
		X:     Axis{Ticks: []Tick{}, Low: 0.5, High: n + 0.5},
		Y:     Axis{Name: orElse(c.Name, "deviation"), Unit: c.Unit},
		Empty: "no checks",
	}
	if len(c.Spots) == 0 {
		return chart
	}
	limits, average := Belt{Name: "limits", Ink: Wedge}, Curve{Name: "average", Ink: Main, Width: 2.5}
	single, out := Markers{Name: "checks", Shape: Square, Ink: Soft}, Markers{Name: "out", Shape: Triangle, Ink: Failed}
	for i, s := range c.Spots {
		x := float64(i + 1)
		chart.X.Ticks = append(chart.X.Ticks, Tick{x, s.day()})
		limits.Intervals = append(limits.Intervals, Interval{x - 0.5, s.Low, s.High}, Interval{x + 0.5, s.Low, s.High})
		average.Points = append(average.Points, Point{x, s.Average})
		single.Marks = append(single.Marks, Mark{X: x, Y: s.Value})
		if s.Out {
			out.Marks = append(out.Marks, Mark{X: x, Y: s.Average})
		}
	}
	_, y := limits.reach(nothing(), nothing())
	_, y = single.reach(nothing(), y)
	_, y = average.reach(nothing(), y)
	margin := 0.06 * (y.high - y.low) // for half a mark
	chart.Y.Low, chart.Y.High = y.low-margin, y.high+margin
	target := Curve{Points: []Point{{0.5, c.Target}, {n + 0.5, c.Target}}, Ink: Passed, Width: 1.5, Dash: []float64{6, 5}}
	chart.Series = []Series{limits, target, single, average}
	if len(out.Marks) > 0 {
		chart.Series = append(chart.Series, out)
	}
	return chart
}
