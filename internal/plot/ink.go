package plot

import _ "embed"

// Ink is what a part of a drawing is for; how that looks is the reader's theme.
type Ink uint8

// Inks.
const (
	NoInk Ink = iota
	// Paper is the ground, Main the ink of traces and words, Soft that of what is said
	// beside, Hair that of a grid.
	Paper
	Main
	Soft
	Hair
	// Water fills below a trace, Wedge the area of a joint within its limit, Band
	// the doubt around a curve.
	Water
	Wedge
	Band
	// Passed, Failed and Open are the verdicts. They are told apart by shape, too.
	Passed
	Failed
	Open
)

// Stylesheet colours SVG drawings from the custom properties of the page: --paper,
// --ink, --soft, --hair, --water, --wedge, --pass, --fail and --inconclusive.
//
//go:embed plot.css
var Stylesheet string

// Colour is an ink on paper.
type Colour struct{ R, G, B uint8 }

// OnPaper returns the colour of an ink on paper. All are opaque: an archive format
// without transparency can take them. NoInk is that of the paper.
//
// The verdicts' colours are those of Okabe and Ito's palette, told apart by every
// kind of colour vision (Color Universal Design, 2008).
func (i Ink) OnPaper() Colour {
	switch i {
	case Main:
		return Colour{0x1b, 0x1a, 0x17}
	case Soft:
		return Colour{0x5f, 0x5a, 0x4e}
	case Hair:
		return Colour{0xd8, 0xd4, 0xca}
	case Water:
		return Colour{0xec, 0xe8, 0xde}
	case Wedge:
		return Colour{0xd3, 0xe4, 0xf0}
	case Band:
		return Colour{0xc9, 0xc7, 0xc2}
	case Passed:
		return Colour{0x00, 0x72, 0xb2}
	case Failed:
		return Colour{0xd5, 0x5e, 0x00}
	case Open:
		return Colour{0xe6, 0x9f, 0x00}
	}
	return Colour{0xff, 0xff, 0xff}
}

// class is the name of an ink in the style sheet.
func (i Ink) class() string {
	switch i {
	case Paper:
		return "paper"
	case Main:
		return "ink"
	case Soft:
		return "soft"
	case Hair:
		return "hair"
	case Water:
		return "water"
	case Wedge:
		return "wedge"
	case Band:
		return "band"
	case Passed:
		return "pass"
	case Failed:
		return "fail"
	case Open:
		return "inconclusive"
	}
	return "none"
}
