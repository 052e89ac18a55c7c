package frames

import "bytes"

// lineState says what a finished line holds.
type lineState uint8

const (
	// lineBlank holds nothing, or only white space.
	lineBlank lineState = iota
	// lineForeign holds something without a dollar sign.
	lineForeign
	// lineFrame holds a dollar sign and what follows the last one.
	lineFrame
)

// lineBuffer keeps what has come of a line: of its bytes only those from the last
// dollar sign on, and of those no more than can be a frame. One byte more than the
// longest line, because the carriage return may have come already.
type lineBuffer struct {
	kept    [MaxLine + 1]byte
	n       int
	state   lineState
	tooLong bool
	// cut counts the frames that began in this line and never ended: their line end
	// was lost, and the next frame stands behind them.
	cut int
}

// opening is how every frame begins; noise hardly ever looks like it.
var opening = []byte("$BT")

// add takes bytes that do not end the line.
func (b *lineBuffer) add(part []byte) {
	if i := bytes.LastIndexByte(part, '$'); i >= 0 {
		b.countCut(part[:i])
		part = part[i:]
		b.n, b.tooLong, b.state = 0, false, lineFrame
	}
	switch b.state {
	case lineFrame:
		copied := copy(b.kept[b.n:], part)
		b.n += copied
		b.tooLong = b.tooLong || copied < len(part)
	case lineBlank:
		if !blank(part) {
			b.state = lineForeign
		}
	}
}

// countCut counts the frames cut short in what is kept and the bytes after it, up
// to a further dollar sign.
func (b *lineBuffer) countCut(before []byte) {
	b.cut += bytes.Count(before, opening)
	if b.state != lineFrame {
		return
	}
	// What is kept may have only the first bytes of its opening.
	var head [3]byte
	n := copy(head[:], b.kept[:b.n])
	n += copy(head[n:], before)
	if bytes.Equal(head[:n], opening) {
		b.cut++
	}
}

// takeCut returns how many frames the line just finished had cut short.
func (b *lineBuffer) takeCut() int {
	n := b.cut
	b.cut = 0
	return n
}

// finish takes the last bytes of the line, without its line feed, and returns the
// line from its last dollar sign on, without carriage return. The bytes are valid
// until the next call. A frame that is too long comes back empty, which no frame is.
func (b *lineBuffer) finish(part []byte) ([]byte, lineState) {
	if b.state == lineBlank {
		// The whole line lies in this chunk: the common case, without a copy.
		if i := bytes.LastIndexByte(part, '$'); i >= 0 {
			b.cut = bytes.Count(part[:i], opening)
			return trimCR(part[i:]), lineFrame
		}
		if blank(part) {
			return nil, lineBlank
		}
		return nil, lineForeign
	}
	b.add(part)
	line, state := trimCR(b.kept[:b.n]), b.state
	if b.tooLong {
		line = nil
	}
	b.n, b.tooLong, b.state = 0, false, lineBlank
	return line, state
}

func blank(part []byte) bool {
	for _, c := range part {
		if c != '\r' && c != ' ' && c != '\t' {
			return false
		}
	}
	return true
}

// trimCR removes the carriage returns before a line feed: one by the protocol,
// more where a terminal driver translated the line end.
func trimCR(line []byte) []byte {
	for len(line) > 0 && line[len(line)-1] == '\r' {
		line = line[:len(line)-1]
	}
	return line
}
