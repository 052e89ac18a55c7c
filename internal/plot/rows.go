package plot

// rows is the lay-out of plots that are lists: a name at the left, a picture in the
// middle over an axis, a figure at the right.
type rows struct {
	*frame
	names, figures []string
	height         float64 // of one row in px
}

// lay lays out rows over a horizontal axis that shows x.
func lay(c Canvas, size Size, x span, names, figures []string) rows {
	f := &frame{Canvas: c, size: size}
	left := min(widest(names), 0.4*size.Width)
	right := min(widest(figures), 0.35*size.Width)
	f.area = Rect{
		Left:   left + 12,
		Top:    4,
		Right:  size.Width - max(right+12, 16),
		Bottom: max(size.Height-belowAxis, size.Height/2),
	}
	f.area.Right = max(f.area.Right, f.area.Left+1)
	f.x = scale{x.usable(), f.area.Left, f.area.Right}
	r := rows{frame: f, names: names, figures: figures}
	r.height = min((f.area.Bottom-f.area.Top)/float64(max(1, len(names))), 48)
	f.area.Top = f.area.Bottom - r.height*float64(max(1, len(names)))
	return r
}

// middle of a row.
func (r rows) middle(i int) float64 { return r.area.Top + r.height*(float64(i)+0.5) }

// write writes name and figure of each row.
func (r rows) write() {
	for i, name := range r.names {
		baseline := r.middle(i) + 0.36*letters
		r.Text(Point{r.area.Left - 8, baseline}, shorten(name, letters, r.area.Left-8, false),
			TextStyle{Ink: Main, Size: letters, Anchor: End})
		if i < len(r.figures) {
			r.Text(Point{r.size.Width, baseline}, shorten(r.figures[i], letters, r.size.Width-r.area.Right-4, false),
				TextStyle{Ink: Main, Size: letters, Anchor: End})
		}
	}
}
