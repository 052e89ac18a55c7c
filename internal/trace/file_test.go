package trace_test

import (
	"bytes"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/trace"
)

func read(t *testing.T, text string) trace.Trace {
	t.Helper()
	tr, err := trace.Read(strings.NewReader(text))
	require.NoError(t, err)
	return tr
}

func write(t require.TestingT, tr trace.Trace) string {
	var out bytes.Buffer
	require.NoError(t, tr.Write(&out))
	return out.String()
}

// same compares traces with NaN equal to NaN.
func same(t assert.TestingT, want, got trace.Trace) {
	assert.Equal(t, want.Kind, got.Kind)
	if !assert.Len(t, got.Readings, len(want.Readings)) {
		return
	}
	for i, w := range want.Readings {
		g := got.Readings[i]
		assert.Equal(t, w.T, g.T, "reading %d", i)
		assert.Equal(t, math.Float64bits(w.Pressure), math.Float64bits(g.Pressure), "reading %d", i)
		assert.Equal(t, w.HasTemperature(), g.HasTemperature(), "reading %d", i)
		if w.HasTemperature() {
			assert.Equal(t, math.Float64bits(w.Celsius), math.Float64bits(g.Celsius), "reading %d", i)
		}
		assert.Equal(t, w.Status, g.Status, "reading %d", i)
	}
}

func TestReadTakesTheFormsThatProgramsWrite(t *testing.T) {
	nan := math.NaN()
	want := trace.Trace{Readings: []trace.Reading{
		{T: 0, Pressure: 1.5, Celsius: 22.5}, {T: 10 * time.Millisecond, Pressure: -2500, Celsius: nan},
	}}
	for name, text := range map[string]string{
		"line feeds":                  "t_s,pressure_pa,temperature_c\n0,1.5,22.5\n0.01,-2500,\n",
		"carriage returns":            "t_s,pressure_pa,temperature_c\r\n0,1.5,22.5\r\n0.01,-2500,\r\n",
		"no last line end":            "t_s,pressure_pa,temperature_c\n0,1.5,22.5\n0.01,-2500,",
		"byte-order mark":             "\ufefft_s,pressure_pa,temperature_c\n0,1.5,22.5\n0.01,-2500,\n",
		"other order, extra columns":  "note,temperature_c,pressure_pa,t_s\n\"a, b\",22.5,1.5,0\n,,-2500,0.01\n",
		"quoted fields":               "\"t_s\",\"pressure_pa\",\"temperature_c\"\n\"0\",\"1.5\",\"22.5\"\n\"0.01\",\"-2500\",\"\"\n",
		"spaces around":               "t_s, pressure_pa, temperature_c\n 0, 1.5, 22.5\n 0.01, -2500, \n",
		"exponents and plus":          "t_s,pressure_pa,temperature_c\n0e0,+15e-1,2.25E1\n1e-2,-2.5e3,\n",
		"line end within a note":      "t_s,pressure_pa,temperature_c,note\n0,1.5,22.5,\"a\nb\"\n0.01,-2500,,\n",
		"blank lines":                 "t_s,pressure_pa,temperature_c\n\n0,1.5,22.5\n\n0.01,-2500,\n\n",
		"more digits than nanosecond": "t_s,pressure_pa,temperature_c\n0.0000000000001,1.5,22.5\n0.0099999999999,-2500,\n",
	} {
		t.Run(name, func(t *testing.T) { same(t, want, read(t, text)) })
	}
}

func TestReadTellsGaugeFromAbsolute(t *testing.T) {
	assert.Equal(t, trace.Gauge, read(t, "t_s,pressure_pa\n0,1\n").Kind)
	tr := read(t, "t_s,absolute_pa\n0,98300.25\n")
	assert.Equal(t, trace.Absolute, tr.Kind)
	assert.Equal(t, 98300.25, tr.Readings[0].Pressure)
	assert.False(t, tr.Readings[0].HasTemperature())
}

func TestReadKeepsStatus(t *testing.T) {
	tr := read(t, "t_s,pressure_pa,status\n0,1,00\n1,2,03\n2,3,fF\n3,4,4\n")
	assert.Equal(t, trace.Status(0), tr.Readings[0].Status)
	assert.Equal(t, trace.Saturated|trace.Faulty, tr.Readings[1].Status)
	assert.Equal(t, trace.Status(0xff), tr.Readings[2].Status)
	assert.Equal(t, trace.SupplyLow, tr.Readings[3].Status, "a spreadsheet has dropped the zero")
}

func TestReadKeepsNanosecondsOfClocksThatCountFrom1970(t *testing.T) {
	tr := read(t, "t_s,pressure_pa\n1763000000.123456789,1\n1763000000.123456790,2\n")
	assert.Equal(t, 1763000000123456789*time.Nanosecond, tr.Readings[0].T)
	assert.Equal(t, time.Nanosecond, tr.Readings[1].T-tr.Readings[0].T)
}

func TestReadTakesAHeaderAlone(t *testing.T) {
	assert.Empty(t, read(t, "t_s,pressure_pa\n").Readings)
}

func TestReadSaysWhatIsWrongAndWhere(t *testing.T) {
	const header = "t_s,pressure_pa,temperature_c\n0,1,20\n"
	for _, c := range []struct{ name, text, want string }{
		{"empty file", "", "read trace: file is empty (want a header with t_s and pressure_pa)"},
		{"byte-order mark alone", "\ufeff", "read trace: file is empty (want a header with t_s and pressure_pa)"},
		{"no header", "0,1,20\n", `read trace: header: no column t_s (found "0,1,20")`},
		{"no pressure", "t_s,temperature_c\n", `read trace: header: no column pressure_pa or absolute_pa (found "t_s,temperature_c")`},
		{"both pressures", "t_s,pressure_pa,absolute_pa\n", "read trace: header: both pressure_pa and absolute_pa (keep one of them)"},
		{"column twice", "t_s,pressure_pa,t_s\n", "read trace: header: column t_s stands twice"},
		{"semicolons", "t_s;pressure_pa\n0;1\n", "read trace: header: fields are separated by semicolons or tabs (save the file with commas between fields and a point in decimals)"},
		{"tabs", "t_s\tpressure_pa\n0\t1\n", "read trace: header: fields are separated by semicolons or tabs (save the file with commas between fields and a point in decimals)"},
		{"two-byte text", "\xff\xfet\x00_\x00", "read trace: file is UTF-16 text (save it as UTF-8)"},
		{"many foreign columns", "a,b,c,d,e,f,g,h,i,j\n", `read trace: header: no column t_s (found "a,b,c,d,e,f,g,h" and 2 more)`},
		{"field missing", header + "1,2\n", "read trace: line 3: 2 fields, header has 3"},
		{"decimal commas", header + "0,1,2,0,20,5\n", "read trace: line 3: 6 fields, header has 3 (write decimals with a point, 2.5 and not 2,5)"},
		{"quoted decimal comma", header + "1,\"2,5\",20\n", `read trace: line 3: column pressure_pa: "2,5" is not a number (write decimals with a point)`},
		{"word for a pressure", header + "1,two,20\n", `read trace: line 3: column pressure_pa: "two" is not a number`},
		{"no pressure in a row", header + "1,,20\n", "read trace: line 3: column pressure_pa: no value"},
		{"NaN", header + "1,NaN,20\n", `read trace: line 3: column pressure_pa: "NaN" is not a finite number`},
		{"infinity", header + "1,-inf,20\n", `read trace: line 3: column pressure_pa: "-inf" is not a finite number`},
		{"too large", header + "1,1e999,20\n", `read trace: line 3: column pressure_pa: "1e999" is too large`},
		{"hexadecimal", header + "1,0x1p3,20\n", `read trace: line 3: column pressure_pa: "0x1p3" is not a number`},
		{"underscores", header + "1,1_0,20\n", `read trace: line 3: column pressure_pa: "1_0" is not a number`},
		{"temperature", header + "1,2,warm\n", `read trace: line 3: column temperature_c: "warm" is not a number`},
		{"absolute pressure", "t_s,absolute_pa\n0,x\n", `read trace: line 2: column absolute_pa: "x" is not a number`},
		{"clock time", header + "10:31:05,2,20\n", `read trace: line 3: column t_s: "10:31:05" is not a number`},
		{"lone point", header + ".,2,20\n", `read trace: line 3: column t_s: "." is not a number`},
		{"time of 300 years", header + "9500000000,2,20\n", `read trace: line 3: column t_s: "9500000000" is too large for a time in seconds`},
		{"time with a large exponent", header + "1e12,2,20\n", `read trace: line 3: column t_s: "1e12" is too large for a time in seconds`},
		{"time goes back", header + "-0.5,2,20\n", "read trace: line 3: time goes back from 0 s to -0.5 s"},
		{"time repeats", header + "0.000,2,20\n", "read trace: line 3: time 0 s repeats that of the reading before"},
		{"status of three digits", "t_s,pressure_pa,status\n0,1,001\n", `read trace: line 2: column status: "001" is not two hex digits (rename the column if it means something else)`},
		{"status that is no number", "t_s,pressure_pa,status\n0,1,ok\n", `read trace: line 2: column status: "ok" is not two hex digits (rename the column if it means something else)`},
		{"stray quote", header + "1,2\"5,20\n", `read trace: line 3, column 4: bare " in non-quoted-field`},
		{"long field is shortened", header + "1," + strings.Repeat("x", 100) + ",20\n",
			`read trace: line 3: column pressure_pa: "` + strings.Repeat("x", 40) + `…" is not a number`},
		{"line after a note of two lines", "t_s,pressure_pa,note\n0,1,\"a\nb\"\n1,x,\n", `read trace: line 4: column pressure_pa: "x" is not a number`},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, err := trace.Read(strings.NewReader(c.text))
			assert.EqualError(t, err, c.want)
			assert.Empty(t, tr.Readings)
		})
	}
}

func TestReadBoundsARecord(t *testing.T) {
	_, err := trace.Read(strings.NewReader("t_s,pressure_pa\n0," + strings.Repeat("1", 1<<20)))
	require.ErrorIs(t, err, trace.ErrTooLong)
	assert.ErrorContains(t, err, "line 2")

	// A quote that never closes would take in the whole file.
	_, err = trace.Read(strings.NewReader("t_s,pressure_pa,note\n0,1,\"" + strings.Repeat("1,1,1\n", 1<<18)))
	assert.ErrorIs(t, err, trace.ErrTooLong)

	// Long files of short lines are what the bound must leave alone.
	var long strings.Builder
	long.WriteString("t_s,pressure_pa,note\n")
	for i := range 20_000 {
		long.WriteString(strconv.Itoa(i) + ",1,\"said \"\"ok\"\"\"\n")
	}
	assert.Len(t, read(t, long.String()).Readings, 20_000)
}

func TestReadBoundsTheNumberOfReadings(t *testing.T) {
	const file = "t_s,pressure_pa\n0,1\n1,1\n2,1\n"
	tr, err := trace.ReadAtMost(strings.NewReader(file), 3)
	require.NoError(t, err)
	assert.Len(t, tr.Readings, 3)
	_, err = trace.ReadAtMost(strings.NewReader(file), 2)
	require.ErrorIs(t, err, trace.ErrTooLong)
	assert.EqualError(t, err, "read trace: line 4: more than 2 readings: too long for a trace file")
}

func TestReadPassesOnWhatTheDiskSays(t *testing.T) {
	broken := errors.New("disk on fire")
	for _, before := range []string{"", "t_s,pressure_pa\n0,1\n", "t_s,pressure_pa\n0,1"} {
		_, err := trace.Read(io.MultiReader(strings.NewReader(before), iotest.ErrReader(broken)))
		assert.ErrorIs(t, err, broken, "after %q", before)
	}
}

func TestWriteUsesTheColumnsItNeeds(t *testing.T) {
	nan := math.NaN()
	tr := trace.Trace{Readings: []trace.Reading{
		{T: 0, Pressure: 16.6, Celsius: nan},
		{T: 3660740 * time.Microsecond, Pressure: -2500, Celsius: nan},
	}}
	assert.Equal(t, "t_s,pressure_pa\r\n0,16.6\r\n3.66074,-2500\r\n", write(t, tr))

	tr.Readings[1].Celsius = 24.57
	assert.Equal(t, "t_s,pressure_pa,temperature_c\r\n0,16.6,\r\n3.66074,-2500,24.57\r\n", write(t, tr))

	tr.Kind = trace.Absolute
	tr.Readings[0].Status = trace.SupplyLow
	assert.Equal(t, "t_s,absolute_pa,temperature_c,status\r\n0,16.6,,04\r\n3.66074,-2500,24.57,00\r\n", write(t, tr))
}

func TestWriteRefusesWhatCannotBeReadBack(t *testing.T) {
	nan := math.NaN()
	for want, readings := range map[string][]trace.Reading{
		"write trace: reading 0: pressure NaN is not a finite number":          {{Pressure: nan}},
		"write trace: reading 0: pressure +Inf is not a finite number":         {{Pressure: math.Inf(1)}},
		"write trace: reading 0: temperature -Inf is not a finite number":      {{Celsius: math.Inf(-1)}},
		"write trace: reading 0: time 9223372036.854775807 s is out of range":  {{T: math.MaxInt64}},
		"write trace: reading 0: time -9223372036.854775808 s is out of range": {{T: math.MinInt64}},
		"write trace: reading 1: time 1 s repeats that of the reading before":  {{T: time.Second}, {T: time.Second}},
		"write trace: reading 1: time goes back from 1 s to 0.5 s":             {{T: time.Second}, {T: time.Second / 2}},
	} {
		var out bytes.Buffer
		assert.EqualError(t, trace.Trace{Readings: readings}.Write(&out), want)
		assert.Empty(t, out.String(), "nothing is written of a trace that is refused")
	}
}

type brokenWriter struct{ err error }

func (w brokenWriter) Write([]byte) (int, error) { return 0, w.err }

func TestWritePassesOnWhatTheDiskSays(t *testing.T) {
	full := errors.New("disk full")
	err := trace.Trace{Readings: make([]trace.Reading, 1)}.Write(brokenWriter{full})
	assert.ErrorIs(t, err, full)
}

func TestAnyTraceReadsBackAsItWas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := trace.Trace{Kind: trace.Kind(rapid.IntRange(0, 1).Draw(t, "kind"))}
		now := time.Duration(rapid.Int64Range(-1e18, 1e18).Draw(t, "start"))
		for range rapid.IntRange(0, 20).Draw(t, "readings") {
			r := trace.Reading{
				T:        now,
				Pressure: rapid.Float64().Filter(finite).Draw(t, "pressure"),
				Celsius:  math.NaN(),
				Status:   trace.Status(rapid.Byte().Draw(t, "status")),
			}
			if rapid.Bool().Draw(t, "has temperature") {
				r.Celsius = rapid.Float64().Filter(finite).Draw(t, "temperature")
			}
			want.Readings = append(want.Readings, r)
			now += time.Duration(rapid.Int64Range(1, 1e15).Draw(t, "step"))
		}
		got, err := trace.Read(strings.NewReader(write(t, want)))
		require.NoError(t, err)
		same(t, want, got)
	})
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func BenchmarkRead(b *testing.B) {
	var file strings.Builder
	file.WriteString("t_s,pressure_pa,temperature_c\n")
	for i := range 10_000 {
		file.WriteString(strconv.Itoa(i) + ".25,-2500.5,22.57\n")
	}
	b.SetBytes(int64(file.Len()))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := trace.Read(strings.NewReader(file.String())); err != nil {
			b.Fatal(err)
		}
	}
}
