package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

func suction(difference float64) air.Conditions {
	return air.Conditions{Sign: air.Suction, Difference: difference, Ambient: ambient, Temperature: roomT}
}

// Needles computed elsewhere from π·d⁴(p1²−p2²)/(256·μ·L) with μ 18.206 µPa·s, from
// 101 325 Pa into the stated suction.
func TestTubeAgreesWithWorkedNeedles(t *testing.T) {
	for _, c := range []struct{ bore, length, difference, want float64 }{
		{0.159e-3, 25e-3, 1000, 3.474898e-3},
		{0.159e-3, 25e-3, 2490.8891, 8.591591e-3},
		{0.159e-3, 25e-3, 4981.7782, 1.696935e-2},
		{0.210e-3, 25e-3, 2490.8891, 2.614341e-2},
		{0.260e-3, 25e-3, 2490.8891, 6.142972e-2},
		{0.337e-3, 25e-3, 2490.8891, 1.733823e-1},
		{0.100e-3, 10e-3, 2490.8891, 3.360664e-3},
	} {
		got := air.Tube(c.bore, c.length, roomMu).Throughput(suction(c.difference))
		assert.InEpsilon(t, c.want, got, 3e-7, "%g m at %g Pa", c.bore, c.difference)
	}
}

func TestThroughputIsTheLawInSquaresInBothSigns(t *testing.T) {
	path := air.Tube(0.2e-3, 20e-3, roomMu)
	for _, sign := range []air.Sign{air.Suction, air.Pressure} {
		c := air.Conditions{Sign: sign, Difference: 2500, Ambient: ambient}
		want := float64(path) * math.Abs(c.Ambient*c.Ambient-c.Bore()*c.Bore()) / 2
		assert.InEpsilon(t, want, path.Throughput(c), 1e-13, sign)
		assert.InEpsilon(t, 1+float64(sign)*2500/(2*ambient), path.Throughput(c)/(path.Conductance(ambient)*2500), 1e-13, sign)
	}
}

// Computed elsewhere from the cubic law: 10 µm between radii of 5 and 7 mm at 1 kPa,
// and the same seat unrolled at its mean diameter.
func TestRadialGapAndItsUnrolledPlate(t *testing.T) {
	radial := air.RadialGap(5e-3, 7e-3, 10e-6, roomMu)
	assert.InEpsilon(t, 5.12845, float64(radial)*1000*perMin, 1e-6)
	plate := air.PlateGap(2*math.Pi*6e-3, 2e-3, 10e-6, roomMu)
	assert.InEpsilon(t, 5.17674, float64(plate)*1000*perMin, 1e-6)
}

// Computed elsewhere from Q = P·h³·Δp/(12·μ·w): D 8 mm, w 0.8 mm, 2.5 kPa, μ 18.2 µPa·s.
func TestPlateGapUnderAPad(t *testing.T) {
	for gap, want := range map[float64]float64{2e-6: 0.173, 5e-6: 2.70, 10e-6: 21.6, 20e-6: 173, 25e-6: 337, 30e-6: 583} {
		got := float64(air.PlateGap(math.Pi*8e-3, 0.8e-3, gap, 18.2e-6)) * 2500 * perMin
		assert.InEpsilon(t, want, got, 3e-3, "%g m", gap)
	}
}

func TestEquivalentGapUndoesThePlate(t *testing.T) {
	seat := air.Seat{Hole: 7.2e-3, Land: 0.8e-3}
	for _, sign := range []air.Sign{air.Suction, air.Pressure} {
		c := air.Conditions{Sign: sign, Difference: 2500, Ambient: 98300, Temperature: 295}
		q := air.PlateGap(math.Pi*8e-3, 0.8e-3, 17e-6, air.Viscosity(295)).Throughput(c)
		assert.InEpsilon(t, 17e-6, seat.EquivalentGap(q, 0, c), 1e-12, sign)
		assert.InEpsilon(t, 17e-6, seat.EquivalentGap(q/0.7, 0.3, c), 1e-12, "only the laminar share makes the gap (%s)", sign)
		assert.InEpsilon(t, -17e-6, seat.EquivalentGap(-q, 0, c), 1e-12, sign)
	}
}

// Mean of h³ around the seat, computed by summing.
func TestTiltedPadLeaksAsItsMeanCube(t *testing.T) {
	for _, ratio := range []float64{0, 0.3, 1} {
		var sum float64
		const n = 1000
		for i := range n {
			h := 20e-6 * (1 + ratio*math.Cos(2*math.Pi*float64(i)/n))
			sum += h * h * h
		}
		assert.InEpsilon(t, sum/n, air.TiltedMeanCube(20e-6, ratio), 1e-12, "ratio %g", ratio)
	}
	assert.InDelta(t, 2.5, air.TiltedMeanCube(1, 1), 1e-15)

	// A pad that touches on one side has the open side at twice its mean gap.
	open := air.TiltedGap(20e-6)
	assert.InDelta(t, 1.474, open/20e-6, 5e-4)
	assert.InEpsilon(t, 20e-6*20e-6*20e-6, air.TiltedMeanCube(open/2, 1), 1e-12)
}

func TestThicknessFollowsTheHinge(t *testing.T) {
	// Similar triangles about the hinge 16 mm behind the near rim of a seat of 8 mm:
	// a pad too thick by 60 µm swings the far side 30 µm open.
	seat := air.Seat{Hole: 7.2e-3, Land: 0.8e-3}
	assert.InEpsilon(t, 60e-6, seat.ThicknessToe(30e-6, 16e-3), 1e-12)
	// Too thin by 90 µm closes at the toe, 24 mm out, and leaves the heel 30 µm open.
	assert.InEpsilon(t, 90e-6, seat.ThicknessHeel(30e-6, 16e-3), 1e-12)
}
