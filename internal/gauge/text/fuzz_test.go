package text_test

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/text"
	"boretight/internal/trace"
)

// spoken is all that a decoder says of a stream, in order.
type spoken []said

// said is what it says of one line: a sample or why there is none.
type said struct {
	sample text.Sample
	reason error
}

func (s *spoken) Sample(sample text.Sample) { *s = append(*s, said{sample: sample}) }
func (s *spoken) Damaged(reason error)      { *s = append(*s, said{reason: reason}) }

// FuzzEachLineIsSpokenOfOnce: with any options, each line after the first that is not
// blank gives one sample or one reason, the same in whatever pieces the bytes come, and
// no number that a gauge cannot measure.
func FuzzEachLineIsSpokenOfOnce(f *testing.F) {
	f.Add([]byte("\n+0012.34 kPa\nP=  12.3 Pa  T= 22.5 C\n2026-03-02 10:11:12;-1,234E+02;mbar\n"), uint8(0), uint8(0), uint8(2))
	f.Add([]byte("\r\n1,2;3\tOL -- 1E999 12:34\r12.5 psia\r\n\x02OL\x03\r\n, ,3 inH2O\n"), uint8(1), uint8(2), uint8(0))
	f.Add(append(append([]byte("\n"), bytes.Repeat([]byte("9"), 500)...), "\n9.9E37\n- 5 kPa\n1,234.5\n"...), uint8(2), uint8(1), uint8(99))
	f.Fuzz(func(t *testing.T, stream []byte, unit, flags, size uint8) {
		o := options(t, []string{"", "kPa", "Pa", "inH2O"}[unit%4], int(flags>>4))
		o.Negate, o.DecimalComma = flags&1 != 0, flags&2 != 0
		if flags&4 != 0 {
			o.Kind = trace.Absolute
		}
		var got, whole spoken
		d := text.NewDecoder(o)
		for piece := range slices.Chunk(stream, int(size)+1) {
			d.Feed(piece, &got)
		}
		text.NewDecoder(o).Feed(stream, &whole)
		require.Equal(t, whole, got)

		// Both line ends count as one, for the line between them is blank.
		lines := bytes.FieldsFunc(afterFirst(stream), func(r rune) bool { return r == '\r' || r == '\n' })
		if i := bytes.LastIndexAny(stream, "\r\n"); i >= 0 && i < len(stream)-1 && len(lines) > 0 {
			lines = lines[:len(lines)-1] // not ended yet
		}
		var count int
		for _, line := range lines {
			if len(bytes.Trim(line, " \t\x00\x02\x03")) > 0 || len(line) > text.MaxLine {
				count++
			}
		}
		require.Len(t, got, count)

		last := 0.0
		for _, s := range got {
			if s.reason != nil {
				assert.NotEmpty(t, s.reason.Error())
				continue
			}
			require.LessOrEqual(t, math.Abs(s.sample.Pressure), 1e7)
			if s.sample.Status.Usable() {
				last = s.sample.Pressure
			}
			assert.Equal(t, last, s.sample.Pressure, "an unusable one repeats the one before")
		}
	})
}

// afterFirst returns what stands behind the first line end.
func afterFirst(stream []byte) []byte {
	i := bytes.IndexAny(stream, "\r\n")
	if i < 0 {
		return nil
	}
	return stream[i+1:]
}
