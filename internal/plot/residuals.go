package plot

import (
	"math"
	"slices"
)

// Below the trace of a hold stands what its fitted curve leaves of the readings, over the
// same time.
const (
	// lowestWithResiduals is the height of a hold's plot in px from which on there is room for
	// them, residualShare how much of the height they take, at least and at most so many px.
	lowestWithResiduals           = 240.0
	residualShare                 = 0.3
	leastResiduals, mostResiduals = 96.0, 150.0
	means                         = 40  // points of the mean line
	farOff                        = 8.0 // standard deviations beyond which residuals do not stretch the axis
	// ofNormal is the standard deviation of normal noise by its median absolute deviation:
	// 1/Φ⁻¹(3/4).
	ofNormal = 1.4826
)

// residualChart is what the curve leaves, over the range of time given.
func (h Hold) residualChart(time span) Chart {
	unit := h.Unit.orKilopascal()
	if unit.Name == "kPa" {
		unit = Unit{"Pa", 1}
	}
	points := make([]Point, 0, len(h.Residuals))
	for _, r := range h.Residuals {
		p := Point{r.Seconds - h.Isolation, unit.of(r.Pascals)}
		if h.Suction {
			p.Y = -p.Y
		}
		points = append(points, p)
	}
	half := reach(points)
	return Chart{
		X: Axis{Name: "time since the valve was shut", Unit: "s", Low: time.low, High: time.high},
		Y: Axis{Name: "Δp − fit", Unit: unit.Name, Low: -half, High: half},
		Series: []Series{
			Curve{Points: points, Ink: Soft, Width: 0.75, Gap: missing},
			Curve{Points: []Point{{time.low, 0}, {time.high, 0}}, Ink: Main, Width: 1, Dash: []float64{6, 5}},
			Curve{Name: "mean", Points: meanOf(points), Ink: Main, Width: 2.5},
		},
	}
}

// reach is how far from nought the axis shows: all, but for what a knock did.
func reach(points []Point) float64 {
	var sizes []float64
	for _, p := range points {
		if p.finite() {
			sizes = append(sizes, math.Abs(p.Y))
		}
	}
	if len(sizes) == 0 {
		return 1
	}
	slices.Sort(sizes)
	most, usual := sizes[len(sizes)-1], ofNormal*sizes[len(sizes)/2]
	if usual > 0 {
		most = min(most, farOff*usual)
	}
	if most == 0 {
		return 1
	}
	return 1.05 * most
}

// meanOf is the mean of the points in equal stretches: whether the fit follows is seen where
// noise does not hide it.
func meanOf(points []Point) []Point {
	x, _ := reachOf(points, nothing(), nothing())
	if x.empty() || x.low == x.high {
		return nil
	}
	var sums [means]Point
	var counts [means]float64
	for _, p := range points {
		if p.finite() {
			i := min(int(means*(p.X-x.low)/(x.high-x.low)), means-1)
			sums[i].X, sums[i].Y = sums[i].X+p.X, sums[i].Y+p.Y
			counts[i]++
		}
	}
	var all []Point
	for i, n := range counts {
		if n > 0 {
			all = append(all, Point{sums[i].X / n, sums[i].Y / n})
		} else {
			all = append(all, Point{math.NaN(), math.NaN()}) // a gap in the readings
		}
	}
	return all
}

// drawBoth draws a hold with what its curve leaves below, both with the same axis of time.
func (h Hold) drawBoth(c Canvas, size Size) {
	below := min(max(residualShare*size.Height, leastResiduals), mostResiduals) + belowAxis
	above := Size{size.Width, size.Height - below}
	trace := h.chart()
	time := trace.times()
	residuals := h.residualChart(time)
	trace.X.Low, trace.X.High = time.low, time.high
	trace.hung = true
	trace.left = max(trace.figures(above), residuals.figures(Size{size.Width, below}))
	residuals.left = trace.left
	trace.Draw(c, above)
	residuals.Draw(lowered{c, above.Height}, Size{size.Width, below})
}

// times is the range that the series of a chart reach over.
func (c Chart) times() span {
	x, y := nothing(), nothing()
	for _, s := range c.Series {
		x, y = s.reach(x, y)
	}
	return c.X.span(x)
}

// figures is the width that the figures of Y want.
func (c Chart) figures(size Size) float64 {
	_, y := nothing(), nothing()
	x := nothing()
	for _, s := range c.Series {
		x, y = s.reach(x, y)
	}
	f := &frame{size: size}
	f.y.span = c.Y.span(y)
	return widestOf(c.vertical(f).ticks) + 9
}

// lowered is a canvas whose top lies further down on another.
type lowered struct {
	Canvas
	by float64
}

// Path implements [Canvas].
func (l lowered) Path(p *Path, s Style) {
	moved := Path{Steps: slices.Clone(p.Steps)}
	for i := range moved.Steps {
		moved.Steps[i].At.Y += l.by
	}
	l.Canvas.Path(&moved, s)
}

// Text implements [Canvas].
func (l lowered) Text(at Point, text string, s TextStyle) {
	l.Canvas.Text(Point{at.X, at.Y + l.by}, text, s)
}

// Clip implements [Canvas].
func (l lowered) Clip(r Rect) { l.Canvas.Clip(Rect{r.Left, r.Top + l.by, r.Right, r.Bottom + l.by}) }
