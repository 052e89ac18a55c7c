package plot

import (
	"fmt"
	"math"
)

// Unit is a unit that values are shown in.
type Unit struct {
	Name string
	SI   float64 // one of it in SI
}

// of returns an SI value in the unit.
func (u Unit) of(si float64) float64 { return si / u.SI }

// orKilopascal is u, or kPa where it says nothing.
func (u Unit) orKilopascal() Unit {
	if u.Name == "" || !(u.SI > 0) || !finite(u.SI) {
		return Unit{"kPa", 1000}
	}
	return u
}

// Reading is one reading: seconds on any clock, and bore minus ambient in Pa.
type Reading struct{ Seconds, Pascals float64 }

// Fitted is a point of a fitted curve with its standard uncertainty in Pa.
type Fitted struct{ Seconds, Pascals, U float64 }

// Hold is the trace of one hold, its fitted curve with twice the standard uncertainty
// to both sides, and the wedge in which a joint within the limit stays. All of it is
// drawn as Δp: suction upwards like pressure.
type Hold struct {
	Title string
	// Readings, Curve and Wedge against the same zero and clock; each may be missing.
	Readings []Reading
	Curve    []Fitted
	Wedge    []Reading
	// Residuals are readings less curve, in the sense of the gauge; where the plot is high
	// enough they are drawn below, over the same time.
	Residuals []Reading
	// Isolation is when the valve was shut, on the same clock: nought of the axis.
	Isolation float64
	// Counted is up to when the readings counted, where something ended that early; 0: not told.
	Counted float64
	Suction bool
	// Limit is said at the wedge: "limit 1.5 sccm".
	Limit string
	// Unit of pressure; without a name kPa.
	Unit Unit
}

var _ Drawing = Hold{}

// missing is the longest time without readings that a trace is drawn over, in s.
const missing = 0.5

// Words implements [Drawing].
func (h Hold) Words() (title, description string) {
	title = orElse(h.Title, "Trace of one hold")
	points := h.trace()
	x, y := reachOf(points, nothing(), nothing())
	if x.empty() {
		return title, "No readings."
	}
	unit := h.Unit.orKilopascal().Name
	description = fmt.Sprintf("%s against time, from %s s to %s s after the valve was shut: between %s and %s %s.",
		h.name(), number(x.low, 1), number(x.high, 1), number(y.low, 3), number(y.high, 3), unit)
	if len(h.Curve) > 0 {
		description += " With the fitted curve and twice its standard uncertainty."
	}
	if len(h.Residuals) > 0 {
		description += " Below, what the curve leaves of the readings."
	}
	if len(h.Wedge) > 0 {
		description += " With the area in which a joint within the limit stays"
		if h.Limit != "" {
			description += " (" + h.Limit + ")"
		}
		description += "."
	}
	return title, description
}

// Draw implements [Drawing].
func (h Hold) Draw(c Canvas, size Size) {
	if len(h.Residuals) > 0 && size.Height >= lowestWithResiduals {
		h.drawBoth(c, size)
		return
	}
	h.chart().Draw(c, size)
}

func (h Hold) chart() Chart {
	chart := Chart{
		X:     Axis{Name: "time since the valve was shut", Unit: "s"},
		Y:     Axis{Name: h.name(), Unit: h.Unit.orKilopascal().Name, Zero: true},
		Empty: "no readings",
	}
	trace := h.trace()
	chart.Series = append(chart.Series, Area{Points: trace, Ink: Water, Gap: missing})
	wedge := h.line(h.Wedge)
	if len(wedge) > 0 {
		chart.Series = append(chart.Series,
			Area{Points: wedge, Level: wedge[0].Y, Ink: Wedge},
			Curve{Points: wedge, Ink: Passed, Width: 2})
	}
	belt, fit := h.fit()
	if len(fit) > 0 {
		chart.Series = append(chart.Series, Belt{Name: "± U, k = 2", Intervals: belt, Ink: Band})
	}
	chart.Series = append(chart.Series, Curve{Name: "readings", Points: trace, Ink: Main, Width: 2.5, Gap: missing})
	if len(fit) > 0 {
		// Paper below the dashes keeps them apart from the trace that they mostly cover.
		chart.Series = append(chart.Series,
			Curve{Points: fit, Ink: Paper, Width: 1.5},
			Curve{Name: "fit", Points: fit, Ink: Main, Width: 1.5, Dash: []float64{6, 5}})
	}
	if len(trace) > 0 {
		chart.Series = append(chart.Series, Note{0, "shut"})
		if h.Counted != 0 && finite(h.Counted) {
			chart.Series = append(chart.Series, Note{h.Counted - h.Isolation, "counts up to here"})
		}
	}
	if len(wedge) > 0 && h.Limit != "" {
		chart.Series = append(chart.Series, Caption{wedge[len(wedge)-1], h.Limit, Passed})
	}
	return chart
}

func (h Hold) name() string {
	if h.Suction {
		return "Δp, suction"
	}
	return "Δp, pressure"
}

// delta is a pressure as Δp in the unit shown.
func (h Hold) delta(pascals float64) float64 {
	if h.Suction {
		pascals = -pascals
	}
	return h.Unit.orKilopascal().of(pascals)
}

func (h Hold) trace() []Point { return h.line(h.Readings) }

func (h Hold) line(readings []Reading) []Point {
	points := make([]Point, len(readings))
	for i, r := range readings {
		points[i] = Point{r.Seconds - h.Isolation, h.delta(r.Pascals)}
	}
	return points
}

// fit returns the fitted curve and what lies within twice its uncertainty.
func (h Hold) fit() (belt []Interval, fit []Point) {
	for _, p := range h.Curve {
		x, y := p.Seconds-h.Isolation, h.delta(p.Pascals)
		u := math.Abs(h.Unit.orKilopascal().of(p.U))
		fit = append(fit, Point{x, y})
		belt = append(belt, Interval{x, y - 2*u, y + 2*u})
	}
	return belt, fit
}
