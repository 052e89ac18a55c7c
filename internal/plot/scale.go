package plot

import "math"

// span is a range of values; the zero value is one value, nought.
type span struct{ low, high float64 }

// nothing is the span of no values.
func nothing() span { return span{math.Inf(1), math.Inf(-1)} }

func (s span) empty() bool { return !(s.low <= s.high) }

// with widens s to the finite ones of values.
func (s span) with(values ...float64) span {
	for _, v := range values {
		if finite(v) {
			s.low, s.high = min(s.low, v), max(s.high, v)
		}
	}
	return s
}

// usable makes of any span one with an extent that can be divided by.
func (s span) usable() span {
	const farthest = 1e300 // the difference of two such is finite
	if s.empty() {
		return span{0, 1}
	}
	s.low, s.high = max(s.low, -farthest), min(s.high, farthest)
	if extent := s.high - s.low; extent > 1e-9*max(math.Abs(s.low), math.Abs(s.high)) && extent > 1e-270 {
		return s
	}
	room := max(math.Abs(s.low)/10, math.Abs(s.high)/10)
	if room < 1e-200 {
		room = 1
	}
	return span{s.low - room, s.high + room}
}

// scale carries values to px.
type scale struct {
	span
	from, to float64 // px of low and high
}

// px of a finite value; far outside of what is written it stays at the edge.
func (s scale) px(v float64) float64 {
	share := (v - s.low) / (s.high - s.low)
	return min(max(s.from+share*(s.to-s.from), -largest), largest)
}

// frame is where series are drawn.
type frame struct {
	Canvas
	size  Size
	area  Rect
	x, y  scale
	taken []Rect // by labels
}

// place of a pair of values on the canvas; what is not finite stays so.
func (f *frame) place(p Point) Point {
	if !p.finite() {
		return Point{math.NaN(), math.NaN()}
	}
	return Point{f.x.px(p.X), f.y.px(p.Y)}
}

// runs carries points to px, splits them where a value is missing or the next is more
// than gap further on (0: nowhere), and thins each part to columns of one px.
func (f *frame) runs(points []Point, gap float64) [][]Point {
	var all [][]Point
	var run []Point
	end := func() {
		if len(run) > 0 {
			all = append(all, Decimate(run, 1))
			run = nil
		}
	}
	for i, p := range points {
		if !p.finite() || gap > 0 && len(run) > 0 && p.X-points[i-1].X > gap {
			end()
		}
		if p.finite() {
			if run == nil {
				run = make([]Point, 0, len(points)-i)
			}
			run = append(run, f.place(p))
		}
	}
	end()
	return all
}

// label writes beside a point where no other label stands: to the right of it if
// there is room, else to the left; step px further up (or down) until it is free.
func (f *frame) label(at Point, text string, step float64, s TextStyle) {
	const beside = 6
	text = shorten(text, s.Size, f.area.Right-f.area.Left-2*beside, s.Bold)
	width := TextWidth(text, s.Size, s.Bold)
	left := at.X + beside
	if left+width > f.area.Right {
		left = at.X - beside - width
	}
	left = min(max(left, f.area.Left+2), f.area.Right-width)
	y := min(max(at.Y, f.area.Top+s.Size), f.area.Bottom-5)
	box := func(y float64) Rect { return Rect{left - 2, y - s.Size, left + width + 2, y + 0.3*s.Size} }
	for range 6 {
		next := y + step
		if !f.covered(box(y)) || next < f.area.Top+s.Size || next > f.area.Bottom-5 {
			break
		}
		y = next
	}
	f.taken = append(f.taken, box(y))
	s.Anchor = Start
	f.Text(Point{left, y}, text, s)
}

// covered reports whether a label stands in r.
func (f *frame) covered(r Rect) bool {
	for _, t := range f.taken {
		if r.Left < t.Right && t.Left < r.Right && r.Top < t.Bottom && t.Top < r.Bottom {
			return true
		}
	}
	return false
}
