package plot

import "math"

// Series is something drawn between the axes of a [Chart].
type Series interface {
	// reach widens the spans that the axes must show.
	reach(x, y span) (span, span)
	draw(f *frame)
	// entry is what stands in the key; without a name it does not.
	entry() entry
}

// Curve is a line through points. Points that are not finite are gaps.
type Curve struct {
	Name   string // in the key
	Points []Point
	Ink    Ink
	Width  float64
	Dash   []float64
	// Gap is the longest step in X that is drawn over; 0 draws over any.
	Gap float64
}

func (c Curve) reach(x, y span) (span, span) { return reachOf(c.Points, x, y) }

func (c Curve) draw(f *frame) {
	var p Path
	for _, run := range f.runs(c.Points, c.Gap) {
		follow(&p, run)
		if len(run) == 1 { // a reading alone is a dot, by the round ends of a line
			p.LineTo(run[0].X+0.1, run[0].Y)
		}
	}
	f.Path(&p, c.style())
}

func (c Curve) style() Style { return Style{Stroke: c.Ink, Width: c.Width, Dash: c.Dash} }

func (c Curve) entry() entry { return entry{name: c.Name, style: c.style()} }

// Area fills between a line through points and a level. Of all series the areas are
// drawn first, below the grid.
type Area struct {
	Name   string
	Points []Point
	Level  float64
	Ink    Ink
	Gap    float64 // as of Curve
}

func (a Area) reach(x, y span) (span, span) { return reachOf(a.Points, x, y) }

func (a Area) draw(f *frame) {
	if !finite(a.Level) {
		return
	}
	level := f.y.px(a.Level)
	var p Path
	for _, run := range f.runs(a.Points, a.Gap) {
		follow(&p, run)
		p.LineTo(run[len(run)-1].X, level)
		p.LineTo(run[0].X, level)
		p.Close()
	}
	f.Path(&p, Style{Fill: a.Ink})
}

func (a Area) entry() entry { return entry{name: a.Name, style: Style{Fill: a.Ink}} }

// Interval is a value that lies from Low to High at X.
type Interval struct{ X, Low, High float64 }

func (i Interval) finite() bool { return finite(i.X) && finite(i.Low) && finite(i.High) }

// Belt is an area between two lines: the doubt around a curve.
type Belt struct {
	Name      string
	Intervals []Interval // those not finite are gaps
	Ink       Ink
}

func (b Belt) reach(x, y span) (span, span) {
	for _, i := range b.Intervals {
		if i.finite() {
			x, y = x.with(i.X), y.with(i.Low, i.High)
		}
	}
	return x, y
}

func (b Belt) draw(f *frame) {
	var p Path
	var run []Interval
	end := func() {
		for i, at := range run {
			to := f.place(Point{at.X, at.High})
			if i == 0 {
				p.MoveTo(to.X, to.Y)
			} else {
				p.LineTo(to.X, to.Y)
			}
		}
		for i := len(run) - 1; i >= 0; i-- {
			to := f.place(Point{run[i].X, run[i].Low})
			p.LineTo(to.X, to.Y)
		}
		if len(run) > 0 {
			p.Close()
		}
		run = nil
	}
	for _, i := range b.Intervals {
		if i.finite() {
			run = append(run, i)
		} else {
			end()
		}
	}
	end()
	f.Path(&p, Style{Fill: b.Ink})
}

func (b Belt) entry() entry { return entry{name: b.Name, style: Style{Fill: b.Ink}} }

// Mark is a value with its interval; without one Low and High are the value, or not finite.
type Mark struct{ X, Y, Low, High float64 }

// Markers are values with their intervals.
type Markers struct {
	Name  string
	Marks []Mark
	Shape Shape
	Ink   Ink
}

func (m Markers) reach(x, y span) (span, span) {
	for _, at := range m.Marks {
		if finite(at.X) && finite(at.Y) {
			x, y = x.with(at.X), y.with(at.Y)
			if at.spread() {
				y = y.with(at.Low, at.High)
			}
		}
	}
	return x, y
}

// spread reports whether the mark has an interval.
func (m Mark) spread() bool { return finite(m.Low) && finite(m.High) && m.Low < m.High }

func (m Markers) draw(f *frame) {
	const arm = 4.0 // half the length of the strokes that end an interval
	for _, at := range m.Marks {
		if !finite(at.X) || !finite(at.Y) {
			continue
		}
		place := f.place(Point{at.X, at.Y})
		if at.spread() {
			low, high := f.y.px(at.Low), f.y.px(at.High)
			p := rule(place.X, low, place.X, high)
			p.MoveTo(place.X-arm, low)
			p.LineTo(place.X+arm, low)
			p.MoveTo(place.X-arm, high)
			p.LineTo(place.X+arm, high)
			f.Path(p, Style{Stroke: m.Ink, Width: 1.5})
		}
		m.Shape.draw(f, place, 5, m.Ink)
	}
}

func (m Markers) entry() entry { return entry{name: m.Name, style: Style{Fill: m.Ink}, shape: m.Shape} }

// Note is a vertical line at X with a few words at its foot.
type Note struct {
	X    float64
	Text string
}

func (n Note) reach(x, y span) (span, span) { return x.with(n.X), y }

func (n Note) draw(f *frame) {
	if !finite(n.X) || n.X < f.x.low || n.X > f.x.high {
		return
	}
	at := f.x.px(n.X)
	f.Path(rule(at, f.area.Top, at, f.area.Bottom), Style{Stroke: Soft, Width: 1.5, Dash: []float64{2, 4}})
	f.label(Point{at, f.area.Bottom - 8}, n.Text, -1.4*letters, TextStyle{Ink: Soft, Size: letters, Halo: true})
}

func (n Note) entry() entry { return entry{} }

// Caption is a few words beside a point, below it or, where they would cover another
// label, further down.
type Caption struct {
	At   Point
	Text string
	Ink  Ink
}

func (c Caption) reach(x, y span) (span, span) { return x, y }

func (c Caption) draw(f *frame) {
	if at := f.place(c.At); at.finite() {
		at.Y += 1.5 * letters
		f.label(at, c.Text, 1.4*letters, TextStyle{Ink: c.Ink, Size: letters, Bold: true, Halo: true})
	}
}

func (c Caption) entry() entry { return entry{} }

func reachOf(points []Point, x, y span) (span, span) {
	for _, p := range points {
		if p.finite() {
			x, y = x.with(p.X), y.with(p.Y)
		}
	}
	return x, y
}

// follow appends a line through points to a path.
func follow(p *Path, points []Point) {
	for i, at := range points {
		if i == 0 {
			p.MoveTo(at.X, at.Y)
		} else {
			p.LineTo(at.X, at.Y)
		}
	}
}

// Shape of a marker. The verdicts' are those that the program shows everywhere.
type Shape uint8

// Shapes.
const (
	NoShape  Shape = iota
	Disc           // passed
	Triangle       // failed
	Diamond        // inconclusive: half of it filled
	Square
	Frame // a square's edge
)

// draw draws a shape of the given half width around a point.
func (s Shape) draw(c Canvas, at Point, half float64, ink Ink) {
	var p Path
	corner := func(x, y float64) {
		if p.Empty() {
			p.MoveTo(at.X+half*x, at.Y+half*y)
		} else {
			p.LineTo(at.X+half*x, at.Y+half*y)
		}
	}
	switch s {
	case Frame:
		p = *Rect{at.X - 0.8*half, at.Y - 0.8*half, at.X + 0.8*half, at.Y + 0.8*half}.box()
		c.Path(&p, Style{Fill: Paper, Stroke: ink, Width: 2})
		return
	case Disc:
		for i := range 24 { // round to the eye at this size
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / 24)
			corner(sin, cos)
		}
	case Triangle:
		corner(0, -1)
		corner(1.1, 0.9)
		corner(-1.1, 0.9)
	case Diamond:
		c.Path(diamond(at, 1.1*half), Style{Fill: Paper, Stroke: ink, Width: 1.5})
		corner(0, -1.1)
		corner(0, 1.1)
		corner(-1.1, 0)
	case Square:
		corner(-0.9, -0.9)
		corner(0.9, -0.9)
		corner(0.9, 0.9)
		corner(-0.9, 0.9)
	default:
		return
	}
	p.Close()
	c.Path(&p, Style{Fill: ink})
}

func diamond(at Point, half float64) *Path {
	var p Path
	p.MoveTo(at.X, at.Y-half)
	p.LineTo(at.X+half, at.Y)
	p.LineTo(at.X, at.Y+half)
	p.LineTo(at.X-half, at.Y)
	p.Close()
	return &p
}
