package plot_test

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/plot"
)

// wellFormed reads all of a picture and returns its text, element by element. It
// demands what a page with a strict policy does: no script, no style, no handler.
func wellFormed(t *testing.T, svg []byte) (texts []string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return texts
		}
		require.NoError(t, err, "%s", svg)
		switch token := token.(type) {
		case xml.StartElement:
			require.Contains(t, []string{"svg", "title", "desc", "path", "text", "g", "clipPath"}, token.Name.Local)
			for _, a := range token.Attr {
				require.NotEqual(t, "style", a.Name.Local)
				require.False(t, strings.HasPrefix(a.Name.Local, "on"), a.Name.Local)
				if a.Name.Local != "class" && a.Name.Local != "xmlns" {
					require.NotContains(t, a.Value, "NaN")
					require.NotContains(t, a.Value, "Inf")
				}
			}
		case xml.CharData:
			if text := strings.TrimSpace(string(token)); text != "" {
				texts = append(texts, text)
			}
		}
	}
}

func TestPictureSaysWhatItIs(t *testing.T) {
	svg, err := plot.SVG{ID: `h"1`}.Write(hold(), plot.Size{Width: 800, Height: 400})
	require.NoError(t, err)
	texts := wellFormed(t, svg)
	assert.Equal(t, "Hold of 10:42, upper joint", texts[0])
	assert.Contains(t, texts[1], "Δp, suction against time")
	assert.Contains(t, string(svg), `role="img" aria-labelledby="h-1-title" aria-describedby="h-1-desc"`)
	assert.Contains(t, texts, "−2", "a true minus sign")
	assert.Contains(t, texts, "counts up to here")
	assert.NotContains(t, texts, "-2")
}

func TestSameDrawingGivesTheSameBytes(t *testing.T) {
	for _, d := range []plot.Drawing{hold(), budget(), change(), trend()} {
		first, err := plot.SVG{}.Write(d, plot.Size{Width: 640, Height: 300})
		require.NoError(t, err)
		again, err := plot.SVG{}.Write(d, plot.Size{Width: 640, Height: 300})
		require.NoError(t, err)
		assert.Equal(t, string(first), string(again))
	}
}

func TestSizeThatNothingCanHaveIsRefused(t *testing.T) {
	for _, size := range []plot.Size{{}, {800, 0}, {math.NaN(), 300}, {400, math.Inf(1)}, {-400, 300}, {1e9, 300}} {
		_, err := plot.SVG{}.Write(budget(), size)
		assert.ErrorContains(t, err, "want 1 to 100000 each way", "%v", size)
	}
}

func TestValuesThatAreNotFiniteNeverComeOut(t *testing.T) {
	h := hold()
	h.Readings[40].Pascals, h.Readings[90].Seconds = math.NaN(), math.Inf(1)
	h.Curve[3].U, h.Curve[4].Pascals = math.Inf(1), math.NaN()
	h.Wedge[0].Pascals = math.NaN()
	h.Counted = math.Inf(-1)
	none := hold()
	none.Isolation = math.NaN()
	c := change()
	c.Outcomes[0].Value, c.Outcomes[1].High, c.Limit = math.NaN(), math.Inf(1), math.Inf(1)
	b := budget()
	b.Sources[0].Share, b.Sources[1].Share, b.Sources[2].Share = math.NaN(), math.Inf(1), -1
	far := plot.Chart{Series: []plot.Series{plot.Curve{Points: []plot.Point{{-math.MaxFloat64, math.MaxFloat64}, {math.MaxFloat64, -math.MaxFloat64}, {0, 5e-324}}, Ink: plot.Main, Width: 1},
		plot.Area{Points: []plot.Point{{1, 1}, {2, 2}}, Level: math.NaN(), Ink: plot.Wedge}}}
	for name, d := range map[string]plot.Drawing{"hold": h, "no isolation": none, "change": c, "budget": b, "far": far} {
		t.Run(name, func(t *testing.T) {
			svg, err := plot.SVG{}.Write(d, plot.Size{Width: 400, Height: 300})
			require.NoError(t, err)
			for _, text := range wellFormed(t, svg) {
				assert.NotContains(t, text, "NaN")
				assert.NotContains(t, text, "Inf")
			}
		})
	}
}

func TestEmptyPlotSaysSo(t *testing.T) {
	for want, d := range map[string]plot.Drawing{
		"no readings": plot.Hold{}, "no budget": plot.Budget{}, "no results": plot.Change{}, "nothing to show": plot.Chart{},
	} {
		svg, err := plot.SVG{}.Write(d, plot.Size{Width: 400, Height: 300})
		require.NoError(t, err)
		assert.Contains(t, wellFormed(t, svg), want)
	}
}

func TestStylesheetColoursEveryInk(t *testing.T) {
	for _, d := range []plot.Drawing{hold(), budget(), change(), trend()} {
		svg, err := plot.SVG{}.Write(d, plot.Size{Width: 800, Height: 400})
		require.NoError(t, err)
		for _, part := range strings.Split(string(svg), `class="`)[1:] {
			classes, _, _ := strings.Cut(part, `"`)
			for class := range strings.FieldsSeq(classes) {
				assert.Contains(t, plot.Stylesheet, "."+class+" ")
			}
		}
	}
}

func FuzzLabels(f *testing.F) {
	f.Add(`</text><script>alert("x")</script>`, 400.0)
	f.Add("a\x00b\u202ec\xff\u2028]]>&lt;'\"", 90.0)
	f.Add(strings.Repeat("W", 500), 800.0)
	f.Fuzz(func(t *testing.T, name string, width float64) {
		c := change()
		c.Title, c.Unit = name, name
		c.Outcomes[0].Name, c.Outcomes[1].Written = name, name
		h := hold()
		h.Title, h.Limit, h.Unit = name, name, plot.Unit{Name: name, SI: 100}
		b := plot.Budget{Title: name, Sources: []plot.Source{{name, 0.5, name}}}
		chart := trend()
		chart.X.Name, chart.Y.Unit, chart.Empty = name, name, name
		chart.Series = append(chart.Series, plot.Note{X: 3, Text: name}, plot.Curve{Name: name})
		for _, d := range []plot.Drawing{c, h, b, chart} {
			svg, err := plot.SVG{ID: name}.Write(d, plot.Size{Width: width, Height: 200})
			if err != nil {
				return
			}
			wellFormed(t, svg)
		}
	})
}

func BenchmarkHoldOf100000Readings(b *testing.B) {
	h := hold()
	h.Readings = nil
	for i := range 100_000 {
		t := float64(i) / 1000
		h.Readings = append(h.Readings, plot.Reading{Seconds: 100 + t, Pascals: -2600*math.Exp(-t/75) + 5*math.Sin(float64(i*i))})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := (plot.SVG{}).Write(h, plot.Size{Width: 800, Height: 400}); err != nil {
			b.Fatal(err)
		}
	}
}
