package plot

import (
	"fmt"
	"strings"
)

// Pen is what [PDF] draws with: the calls of a PDF library with these names, of which
// a document of package fpdf has all. Lengths are in the document's unit, places from
// the top left of the page.
type Pen interface {
	GetConversionRatio() float64 // points in one unit of the document
	MoveTo(x, y float64)
	LineTo(x, y float64)
	ClosePath()
	DrawPath(style string)
	SetFillColor(r, g, b int)
	SetDrawColor(r, g, b int)
	SetTextColor(r, g, b int)
	SetLineWidth(width float64)
	SetLineCapStyle(style string)
	SetLineJoinStyle(style string)
	SetDashPattern(dashes []float64, phase float64)
	SetFont(family, style string, size float64)
	GetStringWidth(text string) float64
	Text(x, y float64, text string)
	ClipRect(x, y, width, height float64, outline bool)
	ClipEnd()
}

// PDF draws on the current page of a PDF document, in the colours of paper, all of
// them opaque. Colours, line style and font of the document are left changed.
type PDF struct {
	Pen Pen
	// Left and Top are where the drawing begins on the page, in the document's unit.
	Left, Top float64
	// Family is a font of the document that has Unicode, in its plain style and, if
	// Bold, in its bold one too; else what is bold is plain.
	Family string
	Bold   bool
}

// Write draws d at the size given in the document's unit. One px of the drawing is
// 1/96 inch: letters have the size on paper that they have on a page.
func (p PDF) Write(d Drawing, width, height float64) error {
	if p.Pen == nil {
		return fmt.Errorf("draw plot in PDF: no pen")
	}
	ratio := p.Pen.GetConversionRatio()
	if !(ratio > 0) || !(width > 0) || !(height > 0) || !finite(p.Left) || !finite(p.Top) {
		return fmt.Errorf("draw plot in PDF: place %g, %g, size %g × %g, %g points a unit: want a place on the page and positive sizes",
			p.Left, p.Top, width, height, ratio)
	}
	c := pdfCanvas{PDF: p, px: pointsPerPx / ratio}
	size := Size{width / c.px, height / c.px}
	if !(size.Width <= largest && size.Height <= largest) {
		return fmt.Errorf("draw plot in PDF: size %g × %g px: want at most %d each way", size.Width, size.Height, int(largest))
	}
	p.Pen.SetLineCapStyle("round")
	p.Pen.SetLineJoinStyle("round")
	d.Draw(&c, size)
	p.Pen.SetDashPattern(nil, 0)
	return nil
}

const pointsPerPx = 0.75

// pdfCanvas is the [Canvas] behind [PDF].
type pdfCanvas struct {
	PDF
	px float64 // one px in the document's unit
}

var _ Canvas = (*pdfCanvas)(nil)

// Path implements [Canvas].
func (c *pdfCanvas) Path(p *Path, s Style) {
	how := ""
	if s.Fill != NoInk {
		how = "F"
		colour := s.Fill.OnPaper()
		c.Pen.SetFillColor(int(colour.R), int(colour.G), int(colour.B))
	}
	if s.Stroke != NoInk {
		how += "D"
		colour := s.Stroke.OnPaper()
		c.Pen.SetDrawColor(int(colour.R), int(colour.G), int(colour.B))
		c.Pen.SetLineWidth(s.Width * c.px)
		dashes := make([]float64, len(s.Dash))
		for i, dash := range s.Dash {
			dashes[i] = dash * c.px
		}
		c.Pen.SetDashPattern(dashes, 0)
	}
	if how == "" || p.Empty() {
		return
	}
	for _, step := range p.Steps {
		x, y := c.place(step.At)
		switch step.Op {
		case Move:
			c.Pen.MoveTo(x, y)
		case Line:
			c.Pen.LineTo(x, y)
		case Close:
			c.Pen.ClosePath()
		}
	}
	c.Pen.DrawPath(how)
}

// Text implements [Canvas]. The halo is a piece of paper laid under the text.
func (c *pdfCanvas) Text(at Point, text string, s TextStyle) {
	text = strings.Map(inPlane, clean(text))
	if text == "" {
		return
	}
	style := ""
	if s.Bold && c.Bold {
		style = "B"
	}
	c.Pen.SetFont(c.Family, style, s.Size*pointsPerPx)
	width := c.Pen.GetStringWidth(text) / c.px
	switch s.Anchor {
	case Middle:
		at.X -= width / 2
	case End:
		at.X -= width
	}
	if s.Halo {
		under := Rect{at.X - 2, at.Y - 0.85*s.Size, at.X + width + 2, at.Y + 0.3*s.Size}
		c.Path(under.box(), Style{Fill: Paper})
	}
	colour := s.Ink.OnPaper()
	c.Pen.SetTextColor(int(colour.R), int(colour.G), int(colour.B))
	x, y := c.place(at)
	c.Pen.Text(x, y, text)
}

// inPlane replaces characters beyond U+FFFF: fpdf v0.12.0 stops the program when it
// closes a document that has one.
func inPlane(r rune) rune {
	if r > 0xffff {
		return 0xfffd
	}
	return r
}

// Clip implements [Canvas].
func (c *pdfCanvas) Clip(r Rect) {
	x, y := c.place(Point{r.Left, r.Top})
	c.Pen.ClipRect(x, y, (r.Right-r.Left)*c.px, (r.Bottom-r.Top)*c.px, false)
}

// Unclip implements [Canvas].
func (c *pdfCanvas) Unclip() { c.Pen.ClipEnd() }

// place of a point of the drawing on the page.
func (c *pdfCanvas) place(at Point) (x, y float64) {
	far := func(v float64) float64 { return float64(tenths(v)) / 10 } // as SVG has it
	return c.Left + c.px*far(at.X), c.Top + c.px*far(at.Y)
}
