package plot

// Chart is series over two axes.
type Chart struct {
	// Title and Description are for those who do not see the chart.
	Title, Description string
	X, Y               Axis
	Series             []Series // the later ones above
	// Empty is what is said when no series has anything to show.
	Empty string
	// left is the least width in px that the figures of Y take.
	left float64
	// hung tells that a chart with the same horizontal axis hangs below, which bears its figures.
	hung bool
}

var _ Drawing = Chart{}

// Words implements [Drawing].
func (c Chart) Words() (title, description string) { return c.Title, c.Description }

// Draw implements [Drawing].
func (c Chart) Draw(canvas Canvas, size Size) {
	x, y := nothing(), nothing()
	for _, s := range c.Series {
		x, y = s.reach(x, y)
	}
	bare := y.empty()
	f := &frame{Canvas: canvas, size: size}
	f.x.span, f.y.span = c.X.span(x), c.Y.span(y)
	m := c.vertical(f)
	title := c.Y.title(m.power)
	key := keyOf(c.Series)
	f.area = Rect{
		Left:   min(max(widestOf(m.ticks)+9, c.left), size.Width/2),
		Top:    min(letters+14, size.Height/3),
		Right:  size.Width - 16,
		Bottom: max(size.Height-belowAxis, size.Height/2),
	}
	// The key stands beside the title of the axis, or below it where there is no room.
	beside := TextWidth(title, letters, false)+24+key.width() <= size.Width
	if !beside && len(key) > 0 && size.Height > 160 {
		f.area.Top += 1.5 * letters
	}
	if c.hung {
		f.area.Bottom = max(size.Height-6, size.Height/2)
	}
	f.area.Right = max(f.area.Right, f.area.Left+1)
	f.x.from, f.x.to = f.area.Left, f.area.Right
	f.y.from, f.y.to = f.area.Bottom, f.area.Top

	c.drawSeries(f, m.ticks)
	f.drawFigures(m.ticks)
	if c.hung {
		f.Path(rule(f.area.Left, f.area.Bottom, f.area.Right, f.area.Bottom), Style{Stroke: Main, Width: 1})
	} else {
		f.drawHorizontal(c.X)
	}
	f.Text(Point{0, letters}, shorten(title, letters, size.Width, false), TextStyle{Ink: Soft, Size: letters})
	switch {
	case beside:
		key.draw(f, f.area.Right-key.width(), letters)
	case size.Height > 160:
		key.draw(f, 0, 2.5*letters)
	}
	if bare {
		f.say(orElse(c.Empty, "nothing to show"))
	}
}

// vertical chooses the ticks of the vertical axis, and widens its range to them unless
// it was given.
func (c Chart) vertical(f *frame) marked {
	if c.Y.Ticks != nil {
		return marked{ticks: c.Y.Ticks}
	}
	want := max(2, int((f.size.Height-belowAxis-2*letters)/45))
	ticks := bestRow(f.y.low, f.y.high, want, c.Y.fixed())
	if !c.Y.fixed() && ticks.count > 0 {
		f.y.span = f.y.with(ticks.at(0), ticks.at(ticks.count-1))
	}
	return ticks.marks()
}

// drawSeries draws areas, grid and the other series, and then what is written among them.
func (c Chart) drawSeries(f *frame, ticks []Tick) {
	area := f.area
	area.Top -= 3 // half the width of a line that runs along the edge
	f.Clip(area)
	for _, s := range c.Series {
		if a, ok := s.(Area); ok {
			a.draw(f)
		}
	}
	f.drawGrid(ticks)
	for _, s := range c.Series {
		switch s.(type) {
		case Area, Note, Caption, asunder, beside:
		default:
			s.draw(f)
		}
	}
	f.Unclip()
	for _, s := range c.Series {
		switch s.(type) {
		case Note, Caption, asunder, beside:
			s.draw(f)
		}
	}
}

// say writes a few words in the middle.
func (f *frame) say(text string) {
	at := Point{(f.area.Left + f.area.Right) / 2, (f.area.Top + f.area.Bottom) / 2}
	text = shorten(text, 1.2*letters, f.area.Right-f.area.Left, false)
	f.Text(at, text, TextStyle{Ink: Soft, Size: 1.2 * letters, Anchor: Middle, Halo: true})
}

// entry is one line of a key.
type entry struct {
	name  string
	style Style
	shape Shape
}

type key []entry

func keyOf(series []Series) key {
	var k key
	for _, s := range series {
		if e := s.entry(); e.name != "" {
			e.name = shorten(e.name, letters, 160, false)
			k = append(k, e)
		}
	}
	return k
}

const (
	sample  = 22.0 // length of the sample before a name, in px
	between = 16.0 // two entries
)

func (k key) width() float64 {
	var width float64
	for _, e := range k {
		width += sample + 6 + TextWidth(e.name, letters, false) + between
	}
	return max(0, width-between)
}

// draw writes the key from x on along a baseline; what has no room is left out.
func (k key) draw(f *frame, x, baseline float64) {
	middle := baseline - 0.36*letters
	for _, e := range k {
		width := sample + 6 + TextWidth(e.name, letters, false)
		if x+width > f.size.Width {
			return
		}
		switch {
		case e.shape != NoShape:
			e.shape.draw(f, Point{x + sample/2, middle}, 5, e.style.Fill)
		case e.style.Fill != NoInk:
			f.Path(Rect{x, middle - 5, x + sample, middle + 5}.box(), e.style)
		default:
			f.Path(rule(x, middle, x+sample, middle), e.style)
		}
		f.Text(Point{x + sample + 6, baseline}, e.name, TextStyle{Ink: Soft, Size: letters})
		x += width + between
	}
}
