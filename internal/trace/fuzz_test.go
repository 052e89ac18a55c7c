package trace_test

import (
	"bytes"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/trace"
)

// FuzzRead: any bytes are a trace in order of time or a short error; what was read
// writes and reads back as the same, whatever the line ends and the size of reads.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"t_s,pressure_pa,temperature_c\n0,1.5,22.5\n0.01,-2500,\n",
		"\ufefft_s,absolute_pa,status\r\n-1.000000001,98300,04\r\n1e-3,9e4,ff\r\n",
		"note,t_s,pressure_pa\n\"a\nb\",0,1\n", "t_s;pressure_pa\n", "t_s,pressure_pa\n9223372035.999999999,5e-324\n", "\xff\xfe",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, file []byte) {
		first, err := trace.Read(bytes.NewReader(file))
		slow, slowErr := trace.Read(iotest.OneByteReader(bytes.NewReader(file)))
		if err != nil {
			require.EqualError(t, slowErr, err.Error())
			assert.Empty(t, first.Readings, "an error comes alone")
			assert.True(t, strings.HasPrefix(err.Error(), "read trace: "), err)
			assert.Less(t, len(err.Error()), 1000, "a message is for people") // quoted bytes take up to ten
			return
		}
		require.NoError(t, slowErr)
		same(t, first, slow)
		checkReadings(t, first)

		text := write(t, first)
		again, err := trace.Read(strings.NewReader(text))
		require.NoError(t, err, "what was read must be writable and readable")
		same(t, first, again)
		assert.Equal(t, text, write(t, again), "the written form is the only one")
		foreign, err := trace.Read(strings.NewReader("\ufeff" + strings.ReplaceAll(text, "\r\n", "\n")))
		require.NoError(t, err)
		same(t, first, foreign)

		if n := len(first.Readings); n > 0 {
			_, err = trace.ReadAtMost(strings.NewReader(text), n-1)
			require.ErrorIs(t, err, trace.ErrTooLong)
		}
	})
}

// checkReadings demands what all who take a trace rely on.
func checkReadings(t *testing.T, tr trace.Trace) {
	t.Helper()
	const longest = 9_223_372_036 * time.Second
	for i, r := range tr.Readings {
		require.True(t, finite(r.Pressure), "pressure %v", r.Pressure)
		require.True(t, !r.HasTemperature() || finite(r.Celsius), "temperature %v", r.Celsius)
		require.True(t, -longest < r.T && r.T < longest, "time %v", r.T)
		require.True(t, i == 0 || tr.Readings[i-1].T < r.T, "times rise")
	}
}
