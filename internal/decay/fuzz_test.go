package decay_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// drawn makes a trace from pieces of four bytes: pitch, where the pressure goes,
// how, and for how many readings.
func drawn(pieces []byte, absolute bool) (tr trace.Trace) {
	const most = 1500 // readings
	if absolute {
		tr.Kind = trace.Absolute
	}
	var at time.Duration
	var p, wobble float64
	for ; len(pieces) >= 4; pieces = pieces[4:] {
		to, how := 32*float64(int8(pieces[1])), pieces[2]
		n := 2 * (int(pieces[3]) + 1)
		from := p
		for i := range n {
			if len(tr.Readings) == most {
				return tr
			}
			at += time.Duration(pieces[0])*250*time.Microsecond + time.Millisecond
			x := float64(i+1) / float64(n)
			switch how % 4 {
			case 0:
				p = to
			case 1:
				p = from + (to-from)*x
			default: // towards it, the faster the higher the rest of the byte
				p = to + (from-to)*math.Exp(-x*float64(how/4)/8)
			}
			wobble = math.Mod(wobble*5.3+1.7, 2) // at most 2 Pa, the same each time
			r := trace.Reading{T: at, Pressure: p + wobble, Celsius: math.NaN()}
			if absolute {
				r.Pressure += 98_300
			}
			tr.Readings = append(tr.Readings, r)
		}
	}
	return tr
}

// script joins pieces for [drawn].
func script(parts ...[4]byte) (all []byte) {
	for _, p := range parts {
		all = append(all, p[:]...)
	}
	return all
}

var (
	aRest  = [4]byte{90, 0, 0, 75}
	aDraw  = [4]byte{90, 160, 1, 20}
	aDecay = [4]byte{90, 0, 34, 250}
	aVent  = [4]byte{90, 0, 0, 60}
)

func TestTheFuzzedScriptsMakeHoldsThatAreFitted(t *testing.T) {
	for _, absolute := range []bool{false, true} {
		holds := hold.Find(drawn(script(aRest, aDraw, aDecay, aVent), absolute))
		require.Len(t, holds, 1)
		r := decay.Fit(holds[0], setupOf(1))
		require.NotNil(t, r.LeakRate, "%v", r.Notes)
		checkResult(t, r)
	}
}

// FuzzFit: whatever a gauge may say, each hold found in it gets a result that keeps
// its promises: figures finite and in order, or none and a reason.
func FuzzFit(f *testing.F) {
	f.Add(script(aRest, aDraw, aDecay, aVent), false, uint8(0))
	f.Add(script(aRest, aDraw, aDecay, aVent), true, uint8(1))
	f.Add(script(aRest, [4]byte{90, 90, 1, 20}, [4]byte{90, 0, 66, 250}, aVent), false, uint8(2))
	f.Add(script(aRest, aDraw, [4]byte{90, 160, 2, 200}, aVent, aDraw, [4]byte{90, 0, 250, 250}), false, uint8(3))
	f.Add(script(aRest, aDraw, aDecay, [4]byte{90, 140, 0, 90}, [4]byte{90, 0, 30, 100}, aVent), false, uint8(128+7))
	f.Fuzz(func(t *testing.T, pieces []byte, absolute bool, told uint8) {
		tr := drawn(pieces, absolute)
		for _, h := range hold.Find(tr) {
			s := setupOf(told)
			r := decay.Fit(h, s)
			checkResult(t, r)
			if told&128 != 0 {
				assert.Equal(t, r.Notes, decay.Fit(h, s).Notes, "the same hold, the same words")
			}
		}
	})
}

// setupOf tells some of what can be told.
func setupOf(told uint8) (s decay.Setup) {
	s.SpanU = -1
	if told&1 != 0 {
		s.Volume = decay.Input{Value: 40e-6, U: 0.4e-6}
	}
	if told&2 != 0 {
		s.Bore = decay.Input{Value: 12e-3, U: 0.5e-3}
	}
	if told&4 != 0 {
		s.Ambient, s.Temperature = decay.Input{Value: 98.3e3, U: 100}, decay.Input{Value: 295, U: 0.5}
	}
	if told&8 != 0 {
		s.At = 1000
	}
	return s
}

// checkResult demands what all who show or keep a result rely on.
func checkResult(t *testing.T, r decay.Result) {
	t.Helper()
	for name, e := range map[string]*decay.Estimate{
		"leak rate": r.LeakRate, "sccm": r.SCCM, "pressure rate": r.PressureRate,
		"time constant": r.TimeConstant, "inertial share": r.InertialShare, "zero": &r.Zero,
	} {
		if e == nil || *e == (decay.Estimate{}) {
			continue
		}
		require.True(t, finite(e.Value, e.U, e.Low, e.High), "%s %+v", name, *e)
		require.True(t, e.Low <= e.High && e.U >= 0, "%s %+v", name, *e)
	}
	if r.PressureRate == nil {
		require.Nil(t, r.LeakRate)
		require.NotEmpty(t, r.Notes, "no figure without a reason")
		return
	}
	require.Equal(t, decay.Converged, r.Status)
	require.True(t, r.PressureRate.U > 0 && r.PressureRate.Low < r.PressureRate.Value && r.PressureRate.Value < r.PressureRate.High, "%+v", *r.PressureRate)
	require.True(t, finite(r.DeltaStart, r.DeltaEnd) && r.Dof > 0, "%+v", r)
	require.Positive(t, r.Readings)
	for _, c := range r.Budget {
		require.True(t, finite(c.U, c.URelative) && c.U >= 0, "budget %+v", c)
	}
	for i, p := range r.Curve {
		require.True(t, finite(p.T, p.Pressure, p.U) && (i == 0 || r.Curve[i-1].T < p.T), "curve %+v", p)
	}
}

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
