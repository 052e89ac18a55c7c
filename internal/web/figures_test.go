package web_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/web"
)

// figures are values with their uncertainties as they must be written: two
// significant digits of the uncertainty, the value to the same place (JCGM 100, 7.2.6).
var figures = []struct {
	name           string
	v, u           float64
	value, written string
}{
	{"a usual leakage rate", 2.1604, 0.02213, "2.160", "0.022"},
	{"an uncertainty that rounds up to one digit more", 2.1604, 0.0996, "2.16", "0.10"},
	{"a large leak", 123.4, 5.67, "123.4", "5.7"},
	{"whole numbers", 1234, 56, "1234", "56"},
	{"coarser than whole numbers", 12345, 678, "12350", "680"},
	{"below nought, with a true minus", -0.0123, 0.0451, "−0.012", "0.045"},
	{"no minus before nought", -0.0001, 0.045, "0.000", "0.045"},
	{"no uncertainty", 2.5, 0, "2.500", "0.000"},
}

func TestFiguresAreRoundedByTheirUncertainty(t *testing.T) {
	for _, tt := range figures {
		t.Run(tt.name, func(t *testing.T) {
			value, u := web.Written(tt.v, tt.u)
			assert.Equal(t, tt.value, value)
			assert.Equal(t, tt.written, u)
		})
	}
	t.Run("no value without a usable uncertainty", func(t *testing.T) {
		for _, u := range []float64{math.NaN(), math.Inf(1), -1} {
			value, _ := web.Written(2.5, u)
			assert.Equal(t, "—", value)
		}
	})
}

func TestFiguresUnderOnePowerOfTen(t *testing.T) {
	assert.Equal(t, "(3.940 ± 0.040) × 10⁻³", web.Powered(3.94e-3, 4e-5))
	assert.Equal(t, "(−0.2 ± 1.0) × 10⁻⁵", web.Powered(-2e-6, 1.04e-5))
	assert.Equal(t, "0 ± 0", web.Powered(0, 0))
	assert.Equal(t, "—", web.Powered(math.NaN(), 1))
}

func TestProbabilityIsNeverRoundedToCertainty(t *testing.T) {
	assert.Equal(t, "> 0.999", web.Probability(0.99999))
	assert.Equal(t, "0.999", web.Probability(0.9991))
	assert.Equal(t, "< 0.001", web.Probability(0))
	assert.Equal(t, "not known", web.Probability(math.NaN()))
}

func TestToldNumbersAreWrittenAsTold(t *testing.T) {
	for x, want := range map[float64]string{2.5: "2.5", 34.2: "34.2", 0: "0", 120: "120", 1890: "1890", 2000: "2000", 0.125: "0.125", 12345: "12345"} {
		assert.Equal(t, want, web.Plain(x))
	}
}

// Page and script must not write the same result in two ways.
func TestScriptWritesFiguresLikeTheProgram(t *testing.T) {
	ctx := browser(t)
	site := serve(t, newFake(), "127.0.0.1:0")
	require.NoError(t, chromedp.Do(ctx, chromedp.Navigate("http://"+site.address+"/")))
	_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](
		`import("/static/figures.js").then((m) => { window.figures = m; })`+"\n, true"))
	require.NoError(t, err)
	until(t, ctx, "!!window.figures")
	for _, tt := range figures {
		script := fmt.Sprintf(`(() => { const d = figures.decimals(%v); return figures.fixed(%v, d) + " " + figures.fixed(%v, d); })()`, tt.u, tt.v, tt.u)
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](script))
		require.NoError(t, err)
		assert.Equal(t, tt.value+" "+tt.written, got, tt.name)
	}
	for _, p := range []float64{0, 0.0004, 0.5, 0.9991, 0.99999} {
		got, err := chromedp.Run(ctx, chromedp.Evaluate[string](fmt.Sprintf("figures.probability(%v)", p)))
		require.NoError(t, err)
		assert.Equal(t, web.Probability(p), got)
	}
	got, err := chromedp.Run(ctx, chromedp.Evaluate[string]("figures.powered(3.94e-3, 4e-5)"))
	require.NoError(t, err)
	assert.Equal(t, web.Powered(3.94e-3, 4e-5), got)
}
