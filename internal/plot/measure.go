package plot

import "strings"

// widths of the characters from space to ~ in DejaVu Sans, thousandths of the size.
var widths = [...]uint16{
	318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337,
	636, 636, 636, 636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531,
	1000, 684, 686, 698, 770, 632, 575, 775, 752, 295, 295, 656, 557, 863, 748, 787,
	603, 787, 695, 635, 611, 732, 684, 989, 685, 611, 685, 390, 337, 390, 838, 500,
	500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579, 278, 974, 634, 612,
	635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
}

// TextWidth is how long a text gets at a size, in px: in DejaVu Sans to the
// thousandth for plain letters and figures, at most that long for nearly all others.
func TextWidth(text string, size float64, bold bool) float64 {
	var sum int
	for _, r := range text {
		sum += advance(r)
	}
	if bold {
		sum += sum / 8 // letters of the bold face are about an eighth wider
	}
	return size * float64(sum) / 1000
}

func advance(r rune) int {
	switch {
	case r >= ' ' && r <= '~':
		return int(widths[r-' '])
	case strings.ContainsRune("⁰¹²³⁴⁵⁶⁷⁸⁹₀₁₂₃₄₅₆₇₈₉", r):
		return 401
	case strings.ContainsRune("·’‘", r):
		return 318
	case strings.ContainsRune("♭♯♮–°“”", r):
		return 518
	case r < 0x530:
		return 840 // other letters of Latin, Greek and Cyrillic, and − has it too
	case r == '−' || r == '⁻':
		return 838
	}
	return 1100
}

// shorten cuts a text to a width, with … where something is missing. A width too
// small for anything leaves nothing.
func shorten(text string, size, width float64, bold bool) string {
	text = clean(text)
	if TextWidth(text, size, bold) <= width {
		return text
	}
	letters := []rune(text)
	// Even the narrowest letter has a quarter of its size.
	letters = letters[:min(len(letters), int(max(0, width)/size*4)+1)]
	for n := len(letters) - 1; n > 0; n-- {
		cut := strings.TrimRight(string(letters[:n]), " ") + "…"
		if TextWidth(cut, size, bold) <= width {
			return cut
		}
	}
	return ""
}

// clean makes one line of a text: characters that break lines or that no XML may
// contain become spaces, and so do marks that turn the direction of writing, for
// one in a name would turn the rest of the line.
func clean(text string) string {
	text = strings.ToValidUTF8(text, "\uFFFD")
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case r < ' ', r >= 0x7f && r < 0xa0, r == 0xfffe, r == 0xffff,
			r == 0x2028, r == 0x2029, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
			return ' '
		}
		return r
	}, text))
}
