package config_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/air"
	"boretight/internal/config"
)

const certificate = `
id = "RL-7"
leak-rate = "2.1sccm"
leak-rate-u = "1%"
at = "2.5kPa"
sign = "suction"
ambient = "101.325kPa"
temperature = "0C"
inertial-share = "2%"
inertial-share-u = "1%"
volume = "0.3ml"
volume-u = "0.02ml"
`

func TestACertificateIsReadWithItsUnits(t *testing.T) {
	t.Parallel()
	c, err := config.ReadCertificate(strings.NewReader(certificate))
	require.NoError(t, err)
	assert.Equal(t, "RL-7", c.ID)
	assert.InEpsilon(t, 2.1*1.68875e-3, c.Throughput.Value, 1e-9, "1 sccm is 1.68875e-3 Pa·m³/s at 0 °C")
	assert.InEpsilon(t, 0.01*c.Throughput.Value, c.Throughput.U, 1e-9)
	assert.Equal(t, air.Suction, c.At.Sign)
	assert.InDelta(t, 2500, c.At.Difference, 1e-9)
	assert.InDelta(t, 101325, c.At.Ambient, 1e-9)
	assert.InDelta(t, 273.15, c.At.Temperature, 1e-9)
	assert.InDelta(t, 0.02, c.Inertial.Value, 1e-12)
	assert.InDelta(t, 0.3e-6, c.Dead.Value, 1e-15)
	assert.InDelta(t, 0.02e-6, c.Dead.U, 1e-15)
	assert.Empty(t, c.Notes)
}

func TestAnUncertaintyMayBeALeakageRateItself(t *testing.T) {
	t.Parallel()
	c, err := config.ReadCertificate(strings.NewReader(strings.Replace(certificate, `"1%"`, `"0.042sccm"`, 1)))
	require.NoError(t, err)
	assert.InEpsilon(t, 0.02*c.Throughput.Value, c.Throughput.U, 1e-9)
}

func TestWhatACertificateDoesNotSayIsAssumedAndNoted(t *testing.T) {
	t.Parallel()
	text := strings.NewReplacer("inertial-share = \"2%\"\n", "", "inertial-share-u = \"1%\"\n", "").Replace(certificate)
	c, err := config.ReadCertificate(strings.NewReader(text))
	require.NoError(t, err)
	assert.Zero(t, c.Inertial.Value)
	assert.InDelta(t, 0.05, c.Inertial.U, 1e-12)
	require.Len(t, c.Notes, 1)
	assert.Contains(t, c.Notes[0], "0 ± 0.05")
}

func TestACertificateIsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ old, new, says string }{
		"with a key that nobody knows":              {`id =`, `label =`, `unknown key "label"`},
		"with a pressure that has no unit":          {`"2.5kPa"`, `2.5`, "no unit"},
		"with a leakage rate that has no unit":      {`"2.1sccm"`, `2.1`, "no unit"},
		"with an uncertainty that has no unit":      {`"1%"`, `"0.01"`, "leak-rate-u"},
		"without its sign":                          {"sign = \"suction\"\n", "", "sign is not told"},
		"with a sign that is none":                  {`"suction"`, `"vacuum"`, "want suction or pressure"},
		"with no sign by name":                      {`"suction"`, `"none"`, "want suction or pressure"},
		"with a pressure difference beyond a bench": {`"2.5kPa"`, `"250kPa"`, "20 kPa"},
		"with the ambient pressure of the moon":     {`"101.325kPa"`, `"1Pa"`, "50 kPa"},
		"that is as uncertain as itself":            {`"1%"`, `"100%"`, "half"},
		"without a leakage rate at all":             {"leak-rate = \"2.1sccm\"\n", "", "leak-rate is not told"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, certificate, c.old)
			_, err := config.ReadCertificate(strings.NewReader(strings.Replace(certificate, c.old, c.new, 1)))
			require.ErrorContains(t, err, c.says)
		})
	}
}

func TestACertificateThatIsNotThereIsNamed(t *testing.T) {
	t.Parallel()
	_, err := config.LoadCertificate("nowhere.toml")
	assert.ErrorContains(t, err, "nowhere.toml")
}
