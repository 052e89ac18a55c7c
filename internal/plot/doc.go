// Package plot is one small vector plot with two writers, SVG and PDF.
//
// Begin with one of the plots made for this program, [Hold], [Overlay], [Change], [Trend],
// [Budget] or [Control], or with a [Chart] of series of your own, and hand it to a writer:
//
//	picture, err := plot.SVG{ID: "hold"}.Write(plot.Hold{…}, plot.Size{Width: 800, Height: 400})
//
// # Model
//
// A [Drawing] lays itself out for a size and draws on a [Canvas], which knows paths,
// text and one rectangle to clip to, and nothing of axes. What writes a format is a
// canvas: [SVG], and [PDF], which draws with the pen of a PDF library handed in. A
// plot names [Ink]s, not colours. In SVG each becomes a class, to be coloured by
// [Stylesheet] from the page's own tokens, so that light and dark apply; the same
// element bears the colour of paper as an attribute, which any rule overrides, so
// that the picture is right alone, too. There is no script, no style element and no
// style attribute: a page that allows only its own style sheet may contain it.
//
// # Units
//
// Lengths on the canvas are in px, 1/96 inch, from the top left, y downwards. Values
// are in SI unless a [Unit] says what they are shown in. Text is measured with the
// widths of DejaVu Sans, one of the widest of the usual typefaces, so that labels
// which fit by our measure fit on any system.
//
// # Promises
//
// The same drawing gives the same bytes. A value that is not finite is a gap: it is
// never written. A line is thinned to what its pixels can show ([Decimate]) and
// keeps every spike. Text comes out escaped, without characters that XML forbids,
// and shortened with … where its place ends; labels of ticks neither overlap nor
// are cut. A plot of nothing shows its axes and says that there is nothing.
//
// Drawings are values and are safe for use from many goroutines as long as nobody
// changes what they refer to. A canvas belongs to one goroutine.
package plot
