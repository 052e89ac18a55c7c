package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"boretight/internal/air"
)

// integrate follows dΔ/dt = −rate(Δ) by the classical Runge–Kutta method.
func integrate(rate func(float64) float64, start, seconds float64) float64 {
	const steps = 2000
	h, x := seconds/steps, start
	for range steps {
		k1 := rate(x)
		k2 := rate(x - h/2*k1)
		k3 := rate(x - h/2*k2)
		k4 := rate(x - h*k3)
		x -= h / 6 * (k1 + 2*k2 + 2*k3 + k4)
	}
	return x
}

const volume = 100e-6

// Closed form computed elsewhere: needle 0.159 × 25 mm on 100 cm³, from 5 kPa of suction.
func TestLaminarDecayOfAWorkedNeedle(t *testing.T) {
	timeConstant := volume / air.Tube(0.159e-3, 25e-3, roomMu).Conductance(ambient)
	assert.InEpsilon(t, 28.63581, timeConstant, 2e-7)
	for seconds, want := range map[float64]float64{0: 5000, 0.5: 4915.5538, 1: 4832.4989, 2: 4670.4766, 5: 4215.6010} {
		assert.InEpsilon(t, want, air.LaminarDecay(air.Suction, 5000, ambient, timeConstant, seconds), 2e-8, "%g s", seconds)
	}
	// Without a sign air does not expand and the decay is the plain exponential.
	assert.InEpsilon(t, 4198.9370, air.LaminarDecay(0, 5000, ambient, timeConstant, 5), 2e-8)
}

func TestLaminarDecaySolvesItsEquationInBothSigns(t *testing.T) {
	const start, conductance = 5000.0, 4e-6
	for _, sign := range signs {
		l := law(sign, 0)
		atStated := conductance * l.At * (1 + float64(sign)*l.At/(2*ambient))
		want := integrate(func(x float64) float64 { return atStated * l.Ratio(x) / volume }, start, 30)
		got := air.LaminarDecay(sign, start, ambient, volume/conductance, 30)
		assert.InEpsilon(t, want, got, 1e-10, sign)
	}
}

// Computed elsewhere by numerical integration: a hole of 0.2 mm, coefficient 0.65,
// 20 °C, on 100 cm³ at constant temperature, from 5 kPa of suction. Its digits
// fit R_s = 287.055, which is 2e-5 above ours and moves the last value by as much.
func TestAHoleEmptiesAVolumeAsComputed(t *testing.T) {
	const area = math.Pi / 4 * 0.2e-3 * 0.2e-3
	rate := func(x float64) float64 { return air.Orifice(area, 0.65, ambient, ambient-x, roomT) / volume }
	for seconds, want := range map[float64]float64{1: 3326.100, 2: 1982.532, 3: 979.392} {
		assert.InEpsilon(t, want, integrate(rate, 5000, seconds), 3e-5, "%g s", seconds)
	}
}

// Published example: 40 CFR 1065.644, vacuum-decay leak check, 2.0000 L from 25.300
// to 50.600 kPa in 70 s at 293.15 K, R = 8.314472; printed 0.00030 mol/s.
func TestChangeThroughputPassesTheVacuumDecayExample(t *testing.T) {
	q := air.ChangeThroughput(2e-3, roomT, air.State{Pressure: 25300, Temperature: roomT}, air.State{Pressure: 50600, Temperature: roomT}, 70)
	assert.InDelta(t, 0.722857, q, 5e-7)
	mol := q / (8.314472 * roomT)
	assert.InDelta(t, 2.9657e-4, mol, 5e-9)
	assert.InDelta(t, 0.00030, mol, 5e-6)
}

func TestChangeThroughputCountsGasAndNotItsWarmth(t *testing.T) {
	before := air.State{Pressure: 98000, Temperature: 293.15}
	warmed := air.State{Pressure: 98000 * 294.15 / 293.15, Temperature: 294.15}
	assert.InDelta(t, 0, air.ChangeThroughput(volume, roomT, before, warmed, 10), 1e-12)
	after := air.State{Pressure: 98010, Temperature: 293.15}
	assert.InEpsilon(t, 1e-4, air.ChangeThroughput(volume, roomT, before, after, 10), 1e-9, "100 cm³ at 1 Pa/s")
}
