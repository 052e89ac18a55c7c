package plot_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/plot"
)

// notebook is a pen that writes down what it is told, in a document in mm.
type notebook struct{ lines []string }

func (n *notebook) note(name string, args ...any) {
	n.lines = append(n.lines, name+" "+strings.TrimSuffix(fmt.Sprintln(args...), "\n"))
}
func (n *notebook) GetConversionRatio() float64                { return 72 / 25.4 }
func (n *notebook) MoveTo(x, y float64)                        { n.note("move", x, y) }
func (n *notebook) LineTo(x, y float64)                        { n.note("line", x, y) }
func (n *notebook) ClosePath()                                 { n.note("close") }
func (n *notebook) DrawPath(style string)                      { n.note("draw", style) }
func (n *notebook) SetFillColor(r, g, b int)                   { n.note("fill", r, g, b) }
func (n *notebook) SetDrawColor(r, g, b int)                   { n.note("stroke", r, g, b) }
func (n *notebook) SetTextColor(r, g, b int)                   { n.note("ink", r, g, b) }
func (n *notebook) SetLineWidth(w float64)                     { n.note("width", w) }
func (n *notebook) SetLineCapStyle(s string)                   { n.note("cap", s) }
func (n *notebook) SetLineJoinStyle(s string)                  { n.note("join", s) }
func (n *notebook) SetDashPattern(d []float64, _ float64)      { n.note("dash", len(d)) }
func (n *notebook) SetFont(family, style string, size float64) { n.note("font", family, style, size) }
func (n *notebook) GetStringWidth(s string) float64            { return 2 * float64(len([]rune(s))) }
func (n *notebook) Text(x, y float64, text string)             { n.note("text", text) }
func (n *notebook) ClipRect(x, y, w, h float64, _ bool)        { n.note("clip", x, y, w, h) }
func (n *notebook) ClipEnd()                                   { n.note("unclip") }

func TestPDFDrawsTheSamePlot(t *testing.T) {
	var n notebook
	require.NoError(t, plot.PDF{Pen: &n, Left: 20, Top: 30, Family: "sans"}.Write(hold(), 170, 85))
	all := strings.Join(n.lines, "\n")
	for _, want := range []string{"text counts up to here", "text −4", "text limit 1.5 sccm", "font sans  9.75", "stroke 0 114 178", "unclip"} {
		assert.Contains(t, all, want)
	}
	assert.NotContains(t, all, "NaN")
	for _, line := range n.lines {
		var x, y float64
		if _, err := fmt.Sscanf(line, "move %g %g", &x, &y); err == nil {
			assert.True(t, x >= 19 && x <= 191 && y >= 29 && y <= 116, line)
		}
	}
}

func TestPDFHasNoCharacterThatItsLibraryCannotTake(t *testing.T) {
	var n notebook
	c := change()
	c.Outcomes[0].Name = "flute 😀"
	require.NoError(t, plot.PDF{Pen: &n, Family: "sans"}.Write(c, 170, 40))
	assert.Contains(t, n.lines, "text flute \uFFFD")
}

func TestPDFRefusesWhatIsNoPlaceOnAPage(t *testing.T) {
	assert.Error(t, plot.PDF{}.Write(budget(), 100, 50))
	assert.Error(t, plot.PDF{Pen: &notebook{}}.Write(budget(), 0, 50))
	assert.Error(t, plot.PDF{Pen: &notebook{}, Left: math.NaN()}.Write(budget(), 100, 50))
	assert.Error(t, plot.PDF{Pen: &notebook{}}.Write(budget(), 1e9, 50))
}
