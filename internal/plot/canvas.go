package plot

// Size of a drawing in px.
type Size struct{ Width, Height float64 }

// Point is a place on a canvas in px, or a pair of values of a series.
type Point struct{ X, Y float64 }

// Rect is a rectangle on a canvas in px.
type Rect struct{ Left, Top, Right, Bottom float64 }

// Drawing is what a writer can write.
type Drawing interface {
	// Words are the name of the drawing and what it shows, for those who do not see it.
	Words() (title, description string)
	// Draw lays the drawing out for the size and draws it.
	Draw(c Canvas, size Size)
}

// Canvas is what a drawing is drawn on. Later strokes cover earlier ones.
type Canvas interface {
	// Path fills and then strokes a path.
	Path(p *Path, s Style)
	// Text writes one line of text with its baseline at a point.
	Text(at Point, text string, s TextStyle)
	// Clip shows only what falls into r, until Unclip. Clips are not nested.
	Clip(r Rect)
	Unclip()
}

// Style is how a path looks.
type Style struct {
	Fill   Ink // NoInk: not filled
	Stroke Ink // NoInk: not stroked
	Width  float64
	// Dash is the length of dashes and of the gaps between them in px; nil: solid.
	// A writer does not keep it.
	Dash []float64
}

// Anchor is which part of a text stands at its point.
type Anchor uint8

// Anchors.
const (
	Start Anchor = iota
	Middle
	End
)

// TextStyle is how a text looks.
type TextStyle struct {
	Ink    Ink
	Size   float64 // of the letters in px
	Anchor Anchor
	Bold   bool
	// Halo puts paper behind the text, so that it can be read over anything.
	Halo bool
}

// Path is a sequence of steps; the zero value is empty.
type Path struct{ Steps []Step }

// Step is one step of a path. At means nothing for Close.
type Step struct {
	Op Op
	At Point
}

// Op is what a step does.
type Op uint8

// Steps of a path.
const (
	Move  Op = iota // begin at a point
	Line            // a straight line to a point
	Close           // a straight line to where this part began
)

// MoveTo begins a part of the path.
func (p *Path) MoveTo(x, y float64) { p.Steps = append(p.Steps, Step{Move, Point{x, y}}) }

// LineTo goes on in a straight line.
func (p *Path) LineTo(x, y float64) { p.Steps = append(p.Steps, Step{Line, Point{x, y}}) }

// Close ends the part where it began.
func (p *Path) Close() { p.Steps = append(p.Steps, Step{Op: Close}) }

// Empty reports whether there is nothing to draw.
func (p *Path) Empty() bool { return len(p.Steps) == 0 }

// box is a path around r.
func (r Rect) box() *Path {
	var p Path
	p.MoveTo(r.Left, r.Top)
	p.LineTo(r.Right, r.Top)
	p.LineTo(r.Right, r.Bottom)
	p.LineTo(r.Left, r.Bottom)
	p.Close()
	return &p
}

// rule is a path along one straight line.
func rule(x1, y1, x2, y2 float64) *Path {
	var p Path
	p.MoveTo(x1, y1)
	p.LineTo(x2, y2)
	return &p
}
