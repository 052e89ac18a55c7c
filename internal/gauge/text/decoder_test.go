package text_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"boretight/internal/gauge/text"
	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// collector is a Handler that keeps everything.
type collector struct {
	samples []text.Sample
	damage  []error
}

func (c *collector) Sample(s text.Sample) { c.samples = append(c.samples, s) }
func (c *collector) Damaged(err error)    { c.damage = append(c.damage, err) }

// options returns options with a unit, none for "".
func options(t require.TestingT, unit string, field int) text.Options {
	o := text.Options{Field: field}
	if unit != "" {
		u, err := quantity.ParseUnit[quantity.Pressure](unit)
		require.NoError(t, err)
		o.Unit = &u
	}
	return o
}

// decode reads a stream whose first line end has passed.
func decode(o text.Options, stream string) *collector {
	var c collector
	d := text.NewDecoder(o)
	d.Feed([]byte("\n"+stream), &c)
	return &c
}

func TestNumbersThatGaugesPrint(t *testing.T) {
	for _, c := range []struct {
		line, unit string
		field      int
		want       float64
	}{
		{"+0012.34 kPa", "", 0, 12340},
		{"-1.234E+02", "Pa", 0, -123.4},
		{"-1.234e-02", "bar", 0, -1234},
		{"P=  12.3 Pa", "", 0, 12.3},
		{"P= - 12.3 Pa", "", 0, -12.3},
		{"P=-12.3Pa T=22.5C", "", 0, -12.3},
		{"12,34;kPa", "", 0, 12340},
		{"-12,34\tkPa", "kPa", 0, -12340},
		{"1,234,5.6", "Pa", 0, 1},
		{"1,234,5.6", "Pa", 3, 5.6},
		{"12.3,45.6", "Pa", 0, 12.3},
		{"12.3,45.6", "Pa", 2, 45.6},
		{"12,34", "Pa", 1, 12},
		{"ST,GS,+0012.34kPa", "", 0, 12340},
		{"1.0,,2.0", "Pa", 3, 2},
		{"CH1: 12.3 mbar", "", 0, 1230},
		{"1: 12.3 mbar", "", 0, 1230},
		{"V1.2 12.3 mbar", "", 0, 1230},
		{"p_1 12.3 mbar", "", 0, 1230},
		{"2026-03-02 10:11:12;-1,234E+02;mbar", "", 0, -12340},
		{"2026-03-02T10:11:12.5Z 7 Pa", "", 0, 7},
		{"12.3 inH2O", "", 0, 12.3 * 249.08891},
		{"12.3 in H2O", "", 0, 12.3 * 249.08891},
		{"12.3 mm Hg", "", 0, 12.3 * 133.322387415},
		{"[12.3] Pa", "", 0, 12.3},
		{"\x02 12.3 Pa\x03", "", 0, 12.3},
		{"−12.3 Pa", "", 0, -12.3},
		{"22.5 °C -3 Pa", "Pa", 2, -3},
		{"22.5 \xB0C -3 Pa", "Pa", 2, -3},
		{"OL 7", "Pa", 2, 7},
		{"12.3 STABLE", "Pa", 0, 12.3},
		{"12.3 psig", "", 0, 12.3 * 6894.757293168},
		{".5", "Pa", 0, .5},
		{"5.", "Pa", 0, 5},
		{"0.1000000000000000055511151231257827", "Pa", 0, .1},
		{"Pa 101", "Pa", 0, 101},
		{"0.1 MPa", "", 0, 1e5},
		{"12.3 daPa", "", 0, 123},
		{"12.3 mmWS", "", 0, 12.3 * 9.80665},
		{"12.3 µbar", "", 0, 1.23},
		{"12.3 \xB5bar", "", 0, 1.23},
		{"12.3 in. H2O", "", 0, 12.3 * 249.08891},
		{"12.3 mbar(g)", "", 0, 1230},
		{"12.3 kPa gauge", "", 0, 12300},
		{"101 325.0", "Pa", 1, 101},
		{"12.3;A", "kPa", 1, 12300},
		{"7 12.3 kPa", "", 2, 12300},
		{"02-Mar-2026 10:11:12 12.3 Pa", "", 0, 12.3},
		{"<12.3> Pa", "", 0, 12.3},
		{"P=>12.3 Pa", "", 0, 12.3},
		{"12.3 E5X", "Pa", 0, 12.3},
		{"1 2345 Pa", "Pa", 1, 1},
	} {
		got := decode(options(t, c.unit, c.field), c.line+"\r\n")
		require.Len(t, got.samples, 1, "%q: %v", c.line, got.damage)
		assert.InEpsilon(t, c.want, got.samples[0].Pressure, 1e-14, c.line)
		assert.Zero(t, got.samples[0].Status, c.line)
		assert.Empty(t, got.damage, c.line)
	}
}

func TestLinesThatAreRefusedSayWhy(t *testing.T) {
	for _, c := range []struct {
		line, unit string
		field      int
		want       error
	}{
		{"hello", "Pa", 0, text.ErrNoNumber},
		{"12.3 Pa", "", 2, text.ErrNoNumber},
		{"1.0,,2.0", "Pa", 2, text.ErrNoNumber},
		{"10:11:12", "Pa", 0, text.ErrNoNumber},
		{"1.2.3", "Pa", 0, text.ErrNoNumber},
		{"-12.34-56.78", "Pa", 0, text.ErrNoNumber},
		{"1.234,5;kPa", "", 0, text.ErrNoNumber},
		{"-", "Pa", 0, text.ErrNoNumber},
		{"12,34 kPa", "", 0, text.ErrComma},
		{"1,234.5 Pa", "", 0, text.ErrComma},
		{"1.234,5 Pa", "", 0, text.ErrComma},
		{"1,234,567 Pa", "", 0, text.ErrComma},
		{"12.3", "", 0, text.ErrNoUnit},
		{"12.3 STABLE", "", 0, text.ErrNoUnit},
		{"12.3 mbar", "kPa", 0, text.ErrOtherUnit},
		{"12.3;mbar", "kPa", 0, text.ErrOtherUnit},
		{"12.3 V", "kPa", 0, text.ErrOtherUnit},
		{"12.3 °C", "kPa", 0, text.ErrOtherUnit},
		{"12.3mX", "kPa", 0, text.ErrOtherUnit},
		{"14.7 psia", "psi", 0, text.ErrOtherKind},
		{"101.3 kPa abs", "", 0, text.ErrOtherKind},
		{"NaN Pa", "", 0, text.ErrNotFinite},
		{"-inf", "Pa", 0, text.ErrNotFinite},
		{"1E999", "Pa", 0, text.ErrNotFinite},
		{"1E9", "Pa", 0, text.ErrNotFinite},
		{"1.#INF Pa", "", 0, text.ErrNotFinite},
		{"-1.#IND00", "Pa", 0, text.ErrNotFinite},
		{"1.#QNAN", "Pa", 0, text.ErrNotFinite},
		{"101 325.0 Pa", "", 0, text.ErrThousands},
		{"101\u00a0325.0 Pa", "", 0, text.ErrThousands},
		{"1\u2009234.5 Pa", "", 0, text.ErrThousands},
		{"101'325.0 Pa", "", 0, text.ErrThousands},
		{"101’325.0 Pa", "", 1, text.ErrThousands},
		{"1 234.5", "Pa", 0, text.ErrThousands},
		{"-,5 kPa", "", 0, text.ErrComma},
		{",5 kPa", "", 0, text.ErrComma},
		{"P= ,5 kPa", "", 0, text.ErrComma},
		{"--12.3 Pa", "", 0, text.ErrSign},
		{"+-12.3 Pa", "", 0, text.ErrSign},
		{"12.3- Pa", "", 0, text.ErrSign},
		{"12.3−", "Pa", 0, text.ErrSign},
		{"-\t12.3", "Pa", 0, text.ErrSign},
		{"1.5 E3 Pa", "", 0, text.ErrExponent},
		{"1.5 E3", "Pa", 1, text.ErrExponent},
		{"7 12.3 kPa", "", 0, text.ErrWhichNumber},
		{"7 12.3 kPa", "Pa", 0, text.ErrWhichNumber},
		{"17;12.3;45.6;kPa", "kPa", 0, text.ErrWhichNumber},
		{"02 Mar 2026;12.3;kPa", "kPa", 0, text.ErrWhichNumber},
		{"101.3 mbar(a)", "", 0, text.ErrOtherKind},
		{"101.3 mbar (abs)", "", 0, text.ErrOtherKind},
		{"1.013 bar absolute", "", 0, text.ErrOtherKind},
		{"101.3 [kPa] abs", "", 0, text.ErrOtherKind},
		{"101.3 abs", "kPa", 0, text.ErrOtherKind},
		{"101.3 kPa(a)", "kPa", 1, text.ErrOtherKind},
		{"12.3;A", "", 0, text.ErrOtherUnit},
		{"12.3;mbar", "kPa", 1, text.ErrOtherUnit},
		{"12.3\x07 Pa", "", 0, text.ErrNotText},
		{"12.3\xE0 Pa", "", 0, text.ErrNotText},
		{strings.Repeat("1", text.MaxLine+1), "Pa", 0, text.ErrTooLong},
	} {
		got := decode(options(t, c.unit, c.field), c.line+"\n")
		assert.Empty(t, got.samples, c.line)
		require.Len(t, got.damage, 1, c.line)
		assert.ErrorIs(t, got.damage[0], c.want, c.line)
	}
}

func TestAnAbsoluteGaugeMayNotSayGauge(t *testing.T) {
	o := text.Options{Kind: trace.Absolute}
	got := decode(o, "14.7 psia\n101.3 kPa (abs)\n1.013 bar absolute\n14.7 psig\n101.3 kPa(g)\n")
	assert.Len(t, got.samples, 3)
	assert.Equal(t, []error{text.ErrOtherKind, text.ErrOtherKind}, got.damage)
}

func TestWordsInTheSteadOfANumberAreReadingsWithAStatus(t *testing.T) {
	for word, want := range map[string]trace.Status{
		"OL": trace.Saturated, "0L": trace.Saturated, "-OL": trace.Saturated, "+ OL kPa": trace.Saturated,
		"OVER": trace.Saturated, "P= over": trace.Saturated, "9.9E37": trace.Saturated, "-9.9E+37": trace.Saturated,
		"O.L": trace.Saturated, "0.L": trace.Saturated, ".OL kPa": trace.Saturated, "1.OL": trace.Saturated, "-O.L": trace.Saturated,
		">20.00 kPa": trace.Saturated, "<-20.00": trace.Saturated, "> 20.00 kPa": trace.Saturated,
		"9.91E37": trace.Faulty, "----.-": trace.Faulty, "-.--": trace.Faulty, "−−−− kPa": trace.Faulty, "———": trace.Faulty,
		"----": trace.Faulty, "--": trace.Faulty, "P= ------ kPa": trace.Faulty, "ERR": trace.Faulty, "Err 12": trace.Faulty,
	} {
		got := decode(options(t, "kPa", 0), "2.5\n"+word+"\n")
		require.Len(t, got.samples, 2, "%q: %v", word, got.damage)
		assert.Equal(t, text.Sample{Pressure: 2500, Status: want}, got.samples[1], word)
	}
	assert.Len(t, decode(options(t, "Pa", 0), "Over=5\nERR: 5\n").samples, 2, "names of values are no such words")
}

func TestTheSignCanBeTurnedAndTheCommaTold(t *testing.T) {
	o := options(t, "kPa", 0)
	o.Negate, o.DecimalComma = true, true
	assert.Equal(t, []text.Sample{{Pressure: -2500}, {Pressure: 1500}}, decode(o, "2,5\n-1,5\n").samples)
}

func TestZeroHasNoSign(t *testing.T) {
	o := options(t, "Pa", 0)
	for _, o.Negate = range []bool{false, true} {
		for _, s := range decode(o, "0.0\n-0.0\n").samples {
			assert.False(t, math.Signbit(s.Pressure), "%v", o.Negate)
		}
	}
}

func TestAnUnknownUnitIsNamed(t *testing.T) {
	assert.EqualError(t, decode(text.Options{}, "12.3 furlong\n").damage[0],
		`the numbers have no unit of pressure: say it, such as unit=kPa (the lines say "furlong")`)
	assert.EqualError(t, decode(options(t, "kPa", 0), "12.3 mbar\n").damage[0],
		`the unit on the lines is another than the one told: leave unit out, or choose another field (the lines say "mbar")`)
}

func TestEveryLineEndIsTaken(t *testing.T) {
	for _, end := range []string{"\n", "\r\n", "\r", "\n\r", "\r\r\n"} {
		got := decode(options(t, "Pa", 0), "1"+end+"2"+end+end+"3"+end)
		assert.Equal(t, []text.Sample{{Pressure: 1}, {Pressure: 2}, {Pressure: 3}}, got.samples, "%q", end)
		assert.Empty(t, got.damage, "blank lines are no damage")
	}
}

func TestTheFirstLineIsDroppedBecauseItMayBeAnEnd(t *testing.T) {
	var c collector
	text.NewDecoder(options(t, "Pa", 0)).Feed([]byte("2.34\r\n+0012.34\r\n"), &c)
	assert.Equal(t, []text.Sample{{Pressure: 12.34}}, c.samples)
	assert.Empty(t, c.damage)
}

func TestALineThatNeverEndsCostsOneLine(t *testing.T) {
	var c collector
	d := text.NewDecoder(options(t, "Pa", 0))
	d.Feed([]byte("\n"), &c)
	block := []byte(strings.Repeat("7", 4096))
	for range 100 {
		d.Feed(block, &c)
	}
	d.Feed([]byte("\n5\n"), &c)
	assert.Equal(t, []text.Sample{{Pressure: 5}}, c.samples)
	assert.Equal(t, []error{text.ErrTooLong}, c.damage)
}

// TestAfterAnyGarbageTheNextLineIsRead: whatever came, in whatever pieces, costs
// nothing after its line end.
func TestAfterAnyGarbageTheNextLineIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		garbage := rapid.SliceOfN(rapid.Byte(), 0, 3*text.MaxLine).Draw(t, "garbage")
		value := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end")
		stream := append(garbage, fmt.Sprintf("%s%+.9E%s", end, value, end)...)
		checkLast(t, stream, value, rapid.IntRange(1, len(stream)).Draw(t, "piece"))
	})
}

// checkLast feeds a stream in pieces and wants its last line's value.
func checkLast(t require.TestingT, stream []byte, value float64, piece int) {
	var c collector
	d := text.NewDecoder(options(t, "Pa", 0))
	for rest := stream; len(rest) > 0; {
		n := min(piece, len(rest))
		d.Feed(rest[:n], &c)
		rest = rest[n:]
	}
	require.NotEmpty(t, c.samples)
	last := c.samples[len(c.samples)-1]
	assert.InDelta(t, value, last.Pressure, 1e-8*math.Abs(value))
	assert.Zero(t, last.Status)
	for _, s := range c.samples {
		require.False(t, math.IsNaN(s.Pressure) || math.IsInf(s.Pressure, 0))
	}
}

func FuzzText(f *testing.F) {
	f.Add([]byte("\xf8\x00\x1e\xe0\x80"), byte(3))
	f.Add([]byte("1,2;3\tOL -- 1E999 12:34"), byte(1))
	f.Add([]byte(strings.Repeat("9", 500)), byte(200))
	f.Fuzz(func(t *testing.T, garbage []byte, piece byte) {
		stream := append(garbage, "\r\n-2503.5\r\n"...)
		checkLast(t, stream, -2503.5, max(1, int(piece)))
	})
}

func TestDecodingAllocatesNothing(t *testing.T) {
	// In pascals: what converting units allocates depends on how the test is built.
	var c counter
	d := text.NewDecoder(options(t, "Pa", 0))
	stream := []byte("P= -2.5035 Pa T= 22.5 C\r\n-1.234E+00 Pa\r\nOL Pa\r\nnothing\r\n")
	d.Feed(stream, &c)
	assert.Zero(t, testing.AllocsPerRun(100, func() { d.Feed(stream, &c) }))
	assert.NotZero(t, c)
}

// counter is a Handler that keeps nothing.
type counter int

func (c *counter) Sample(text.Sample) { *c++ }
func (c *counter) Damaged(error)      {}

func BenchmarkDecode(b *testing.B) {
	var c counter
	d := text.NewDecoder(options(b, "kPa", 0))
	stream := []byte(strings.Repeat("P= -2.5035 kPa T= 22.5 C\r\n", 1000))
	b.ReportAllocs()
	b.SetBytes(int64(len(stream)))
	for b.Loop() {
		d.Feed(stream, &c)
	}
	b.ReportMetric(float64(c)/b.Elapsed().Seconds(), "lines/s")
}
