package web

import (
	"fmt"
	"html/template"
	"strings"

	"rsc.io/qr"
)

// quietZone is the blank border in modules that a reader needs around the code
// (ISO/IEC 18004, 5.3.8).
const quietZone = 4

// qrCode draws a text as a QR code with its quiet zone: dark on light whatever the theme,
// since many readers refuse the inverse. Level M mends up to 15 % of damage, what a case in
// daily use does to a label. rsc.io/qr is small, depends on nothing and gives the modules
// themselves; it always takes the same mask, which a reader undoes as any other.
func qrCode(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("draw %q as a QR code: %w", text, err)
	}
	size := code.Size + 2*quietZone
	var path strings.Builder
	for y := range code.Size {
		for x := 0; x < code.Size; {
			run := 0
			for code.Black(x+run, y) {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quietZone, y+quietZone, run, run)
			}
			x += max(1, run)
		}
	}
	return template.HTML(fmt.Sprintf(`<svg class="qr" viewBox="0 0 %d %d" shape-rendering="crispEdges" role="img" aria-label="QR code of %s">`+
		`<path fill="#fff" d="M0 0h%dv%dh-%dz"/><path fill="#000" d="%s"/></svg>`,
		size, size, template.HTMLEscapeString(text), size, size, size, path.String())), nil
}
