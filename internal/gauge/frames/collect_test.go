package frames_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"boretight/internal/gauge/frames"
	"boretight/internal/trace"
)

// collector is a Handler that keeps all it is told, and the order of it.
type collector struct {
	identities []frames.Identity
	readings   []trace.Reading
	breaks     []error
	order      string // R, I and B as they came
}

func (c *collector) Identity(id frames.Identity) {
	c.identities, c.order = append(c.identities, id), c.order+"I"
}

func (c *collector) Reading(r trace.Reading) {
	c.readings, c.order = append(c.readings, r), c.order+"R"
}

func (c *collector) Break(reason error) {
	c.breaks, c.order = append(c.breaks, reason), c.order+"B"
}

// pressures returns what the readings said, in pascals.
func (c *collector) pressures() []float64 {
	out := []float64{}
	for _, r := range c.readings {
		out = append(out, r.Pressure)
	}
	return out
}

// decode feeds one chunk to a new decoder.
func decode(t *testing.T, stream string) (*collector, frames.Counts) {
	t.Helper()
	var d frames.Decoder
	c := &collector{}
	require.NoError(t, d.Feed([]byte(stream), c))
	return c, d.Counts()
}

// line closes a body with its checksum and line end.
func line(body string) string {
	return fmt.Sprintf("$%s*%04X\r\n", body, frames.Checksum([]byte(body)))
}

// reading is the line of a reading whose pressure in pascals equals its number.
func reading(seq, micros uint32) string {
	return line(fmt.Sprintf("BTRD,%d,%d,%d,,00", seq, micros, seq%10_000_000))
}
