package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/quantity"
)

const (
	zeroC   = quantity.Temperature(273.15)
	twentyC = quantity.Temperature(293.15)
)

// One sccm is cm³/min at 0 °C and 101.325 kPa: 101325·1e-6/60 Pa·m³/s there.
func TestSCCMCountsGasAtItsTemperature(t *testing.T) {
	assert.InEpsilon(t, 1.68875e-3, float64(quantity.FromSCCM(1, zeroC)), 1e-14)
	assert.InEpsilon(t, 59.215396, quantity.Throughput(0.1).SCCM(zeroC), 1e-8, "1 mbar·l/s at 0 °C")
	assert.InEpsilon(t, 0.05517546, quantity.Throughput(1e-4).SCCM(twentyC), 1e-7, "100 cm³ at 1 Pa/s, gas at 20 °C")
	assert.InEpsilon(t, 2.5, quantity.FromSCCM(2.5, twentyC).SCCM(twentyC), 1e-15)
}

// One mol is p·V/(R·T) with R of CODATA 2018, so 1 sccm is 7.4358389e-7 mol/s at
// whatever temperature the gas is.
func TestSCCMIsAnAmountOfGas(t *testing.T) {
	const molarGasConstant = 8.31446261815324
	for _, gas := range []quantity.Temperature{zeroC, twentyC, 310} {
		mol := float64(quantity.FromSCCM(1, gas)) / (molarGasConstant * float64(gas))
		assert.InEpsilon(t, 7.4358389e-7, mol, 1e-7)
	}
}

func TestRoomFlowCountsAirInTheRoom(t *testing.T) {
	// 1 ml/min at 101.325 kPa carries 101325·1e-6/60 Pa·m³/s.
	assert.InEpsilon(t, 1.68875e-3, float64(quantity.FromRoomFlow(1, 101325)), 1e-14)
	assert.InEpsilon(t, 592.154, quantity.Throughput(1).RoomFlow(101325), 1e-6)
	assert.InEpsilon(t, 101325.0/84000, quantity.Throughput(1.68875e-3).RoomFlow(84000), 1e-14,
		"the same throughput is more volume where the air is thin")
}

func TestLeakRateWaitsForTheTemperature(t *testing.T) {
	limit, err := quantity.ParseLeakRate("2.5sccm")
	require.NoError(t, err)
	assert.Equal(t, quantity.FromSCCM(2.5, twentyC), limit.At(twentyC))
	assert.Greater(t, limit.At(twentyC), limit.At(zeroC))

	limit, err = quantity.ParseLeakRate("4e-3Pa.m3/s")
	require.NoError(t, err)
	assert.Equal(t, quantity.Throughput(4e-3), limit.At(twentyC))
	assert.Equal(t, limit.At(zeroC), limit.At(twentyC))

	limit, err = quantity.ParseLeakRate("0.04 mbar l/s")
	require.NoError(t, err)
	assert.Equal(t, quantity.Throughput(4e-3), limit.At(twentyC))

	limit, err = quantity.ParseLeakRate("0.0025 slm")
	require.NoError(t, err)
	assert.InEpsilon(t, float64(quantity.FromSCCM(2.5, twentyC)), float64(limit.At(twentyC)), 1e-15)

	assert.Zero(t, quantity.LeakRate{}.At(twentyC))
}

func TestLeakRateReadsBackWhatItWrites(t *testing.T) {
	for s, want := range map[string]string{
		"2.5 SCCM": "2.5 sccm", "4e-3 Pa.m3/s": "0.004 Pa·m³/s", "1e-6Pa.m3/s": "1e-6 Pa·m³/s", "0.1234567890123 sccm": "0.1234567890123 sccm",
	} {
		r, err := quantity.ParseLeakRate(s)
		require.NoError(t, err)
		out, err := r.MarshalText()
		require.NoError(t, err)
		assert.Equal(t, want, string(out))
		back, err := read[quantity.LeakRate](string(out))
		require.NoError(t, err)
		assert.Equal(t, r, back)
	}
}
