package plot_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/plot"
)

// sheet is a canvas that keeps the boxes of what is written.
type sheet struct{ boxes []plot.Rect }

func (s *sheet) Path(*plot.Path, plot.Style) {}
func (s *sheet) Clip(plot.Rect)              {}
func (s *sheet) Unclip()                     {}
func (s *sheet) Text(at plot.Point, text string, style plot.TextStyle) {
	width := plot.TextWidth(text, style.Size, style.Bold)
	left := at.X - width*[]float64{0, 0.5, 1}[style.Anchor]
	s.boxes = append(s.boxes, plot.Rect{Left: left, Top: at.Y - 0.7*style.Size, Right: left + width, Bottom: at.Y})
}

func TestLabelsNeitherOverlapNorAreCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := plot.Size{Width: rapid.Float64Range(150, 1200).Draw(t, "width"), Height: rapid.Float64Range(100, 600).Draw(t, "height")}
		point := func(name string) plot.Point {
			value := func(axis string) float64 {
				return rapid.Float64Range(-9, 9).Draw(t, name+axis) * math.Pow(10, float64(rapid.IntRange(-6, 6).Draw(t, name+axis+" power")))
			}
			return plot.Point{X: value(" x"), Y: value(" y")}
		}
		var s sheet
		plot.Chart{Series: []plot.Series{plot.Curve{Points: []plot.Point{point("first"), point("last")}}}}.Draw(&s, size)
		for i, a := range s.boxes {
			require.GreaterOrEqual(t, a.Left, -0.01)
			require.LessOrEqual(t, a.Right, size.Width+0.01)
			require.GreaterOrEqual(t, a.Top, -0.01)
			require.LessOrEqual(t, a.Bottom, size.Height)
			for _, b := range s.boxes[i+1:] {
				require.False(t, a.Left < b.Right && b.Left < a.Right && a.Top < b.Bottom && b.Top < a.Bottom, "%v and %v", a, b)
			}
		}
	})
}
