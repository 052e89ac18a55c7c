package gauge

import (
	"errors"
	"strings"
	"unicode/utf8"

	"boretight/internal/gauge/frames"
	"boretight/internal/gauge/text"
	"boretight/internal/trace"
)

const (
	// earMost bounds what is kept of a port: some seconds at 921,600 Bd.
	earMost = probeMost
	// enoughLines of text are enough to know it by.
	enoughLines = 8
	// shownLines are what is shown of them, each of at most shownBytes.
	shownLines, shownBytes = 3, 80
)

// ear takes what a port sends at one rate, as frames and as text at once.
type ear struct {
	baud  int
	bytes []byte

	decoder  frames.Decoder
	readings int
	identity Identity
	refused  error // why frames cannot be read, such as another version of them

	lines   *text.Decoder
	numbers int   // lines that hold numbers, whether they can be read as they stand or not
	others  int   // lines that do not
	open    error // what the last of the former leaves open
}

func newEar(baud int) *ear { return &ear{baud: baud, lines: text.NewDecoder(text.Options{})} }

// sense says how much of what was heard makes sense, more being better.
func (e *ear) sense() int {
	switch {
	case e.identity.Known:
		return makesSense + 3
	case e.refused != nil:
		return makesSense + 2
	case e.readings > 0:
		return makesSense + 1
	case e.isText():
		return makesSense
	case len(e.bytes) > 0:
		return 1
	}
	return 0
}

// makesSense is the least sense of what a gauge may say.
const makesSense = 2

// isText reports whether the bytes are lines with numbers, and not just some that look so.
func (e *ear) isText() bool { return e.numbers >= 2 && e.numbers >= 4*e.others }

// enough reports whether more need not be heard.
func (e *ear) enough() bool {
	return e.identity.Known || e.refused != nil || len(e.bytes) > earMost ||
		e.readings == 0 && e.isText() && e.numbers >= enoughLines
}

// take takes what a read brought.
func (e *ear) take(chunk []byte) {
	e.bytes = append(e.bytes, chunk...)
	if e.refused == nil {
		e.refused = e.decoder.Feed(chunk, (*frameEar)(e))
	}
	e.lines.Feed(chunk, (*textEar)(e))
}

// frameEar is a frames.Handler.
type frameEar ear

func (e *frameEar) Identity(id frames.Identity) { e.identity = identified(id) }
func (e *frameEar) Reading(trace.Reading)       { e.readings++ }
func (e *frameEar) Break(error)                 {}

// textEar is a text.Handler.
type textEar ear

func (e *textEar) Sample(text.Sample) { e.numbers++; e.open = nil }
func (e *textEar) Damaged(reason error) {
	if errors.Is(reason, text.ErrNotText) || errors.Is(reason, text.ErrTooLong) || errors.Is(reason, text.ErrNoNumber) {
		e.others++
		return
	}
	e.numbers++
	e.open = reason
}

// found says what was heard at a port of an address.
func (e *ear) found(p Port, a Address) Found {
	f := Found{Port: p}
	a.Baud = e.baud
	switch {
	case e.identity.Known:
		f.Heard, f.Identity, f.Address = HeardGauge, e.identity, a
		if a.Target != p.Device && validName(e.identity.Serial) {
			f.Address.Name = e.identity.Serial // a name by identity is a long one to look at
		}
	case e.refused != nil:
		f.Heard, f.Err = HeardFault, e.refused
	case e.readings > 0:
		f.Heard, f.Address = HeardFrames, a
	case e.isText():
		a.Dialect = Text
		f.Heard, f.Address, f.Lines, f.Err = HeardText, a, e.shown(), e.open
	case len(e.bytes) > 0:
		f.Heard, f.Err = HeardNoise, errNoise
	default:
		f.Heard, f.Err = HeardNothing, errNothing
	}
	return f
}

var (
	errNoise   = errors.New("what comes makes no sense at 115200, 921600 or 9600 baud: another rate, or no gauge; if it is one, give its rate with ?baud=")
	errNothing = errors.New("nothing comes: no gauge, or one without power, or one that speaks only when asked")
)

// shown returns the first few whole lines.
func (e *ear) shown() []string {
	var lines []string
	for i, line := range strings.FieldsFunc(string(e.bytes), func(r rune) bool { return r == '\r' || r == '\n' }) {
		if line = strings.TrimSpace(readable(line)); i > 0 && line != "" { // the first may be half a line
			lines = append(lines, line)
		}
		if len(lines) == shownLines {
			break
		}
	}
	return lines
}

// readable returns a line as text: where it is no UTF-8, its bytes are taken for Latin-1,
// in which some instruments write a degree sign.
func readable(line string) string {
	if !utf8.ValidString(line) {
		letters := make([]rune, len(line))
		for i := range len(line) {
			letters[i] = rune(line[i])
		}
		line = string(letters)
	}
	line = strings.Map(func(r rune) rune {
		if r < ' ' || r >= 0x7f && r < 0xa0 {
			return -1
		}
		return r
	}, line)
	if len(line) > shownBytes {
		line = strings.ToValidUTF8(line[:shownBytes], "") + "…"
	}
	return line
}
