package config_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
	"boretight/internal/quantity"
)

func reference(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("testdata/reference.toml")
	require.NoError(t, err)
	return string(text)
}

func TestReferenceFileIsTheDefault(t *testing.T) {
	t.Parallel()
	c, err := config.Read(strings.NewReader(reference(t)))
	require.NoError(t, err)
	want := config.Default()
	want.Hosts, want.Gauges = []string{}, []string{}
	assert.Equal(t, want, c)
}

func TestReferenceFileShowsEveryKey(t *testing.T) {
	t.Parallel()
	all := regexp.MustCompile(`(?m)^# ([a-z-]+ = ["0-9])`).ReplaceAllString(reference(t), "$1")
	c, err := config.Read(strings.NewReader(all))
	require.NoError(t, err)
	assert.Equal(t, config.Shop{
		Name: "The Reed Bench", Address: "1 Mill Lane\nOboeville", TimeZone: "Europe/Berlin", Holds: 3,
		PressureUnit: quantity.Kilopascals, FlowUnit: quantity.StandardFlow, LengthUnit: quantity.Millimetres,
	}, c.Shop)
	m := c.Measure
	assert.Equal(t, quantity.Volume(34.2e-6), *m.Volume)
	assert.InDelta(t, 0.342e-6, float64(m.VolumeU.Of(*m.Volume)), 1e-12)
	assert.Equal(t, quantity.Length(9e-3), *m.Bore)
	assert.Equal(t, quantity.Pressure(98300), *m.Ambient)
	assert.InDelta(t, 295.65, float64(*m.Temperature), 1e-9)
	assert.Equal(t, quantity.Pressure(2500), *m.At)
	assert.Equal(t, "2.5 sccm", m.Limit.String())
	assert.InDelta(t, 0.02, float64(*m.SpanU), 1e-12)
	assert.Equal(t, config.Labels{Joint: "oboe/upper", Section: "right hand", Closure: "all keys", When: "as_found", Ticket: "T-17"}, c.Labels)
	assert.Equal(t, config.Rig{Hose: "clear 4 mm", Stoppers: "A", Valve: "1"}, c.Rig)
}

func TestFaultsNameTheirPlaceAndWhatIsAllowed(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ text, want string }{
		"an unknown key": {
			"bench = \"one\"\nlimt = 3\n",
			`line 2, column 1: unknown key "limt"`,
		},
		"an unknown key of measure": {
			"[measure]\nvolum = \"3 ml\"\n",
			`line 2, column 1: unknown key "measure.volum"`,
		},
		"a number without its unit": {
			"[measure]\nvolume = \"34.2\"\n",
			"line 2, column 10: ",
		},
		"text that is no TOML": {
			"bench = one\n",
			"line 1, column 9: ",
		},
		"a volume of zero": {
			"[measure]\nvolume = \"0 ml\"\n",
			"volume = 0 m³: want from 0.1 ml to 100 l",
		},
		"an uncertainty without its volume": {
			"[measure]\nvolume-u = \"1 ml\"\n",
			"volume-u is told without a volume: tell both",
		},
		"an address without a port": {
			"listen = \"localhost\"\n",
			`listen = "localhost": want HOST:PORT, such as 127.0.0.1:8417`,
		},
		"a gauge that is no address": {
			"gauges = [\"usb\"]\n",
			`gauge address "usb": `,
		},
		"a token that can be tried out": {
			"token = \"shop\"\n",
			"token: has 4 letters, want at least 12",
		},
		"a certificate without its key": {
			"tls-cert = \"bench.pem\"\n",
			"tls-cert and tls-key go together: tell both or neither",
		},
		"an empty name": {
			"bench = \"\"\n",
			`bench = "": want a name of 1 to 40 letters`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := config.Read(strings.NewReader(c.text))
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestAllFaultsAreReportedAtOnce(t *testing.T) {
	t.Parallel()
	_, err := config.Read(strings.NewReader("listen = \"x\"\n[measure]\nat = \"90 kPa\"\nspan-u = \"80 %\"\n"))
	require.Error(t, err)
	assert.Len(t, strings.Split(err.Error(), "\n"), 3)
}

func TestFlagsCountMoreThanTheFile(t *testing.T) {
	t.Parallel()
	file := config.Measure{Volume: new(quantity.Volume(30e-6)), Bore: new(quantity.Length(9e-3))}
	flags := config.Measure{Volume: new(quantity.Volume(34e-6))}
	merged := flags.Over(file)
	assert.Equal(t, quantity.Volume(34e-6), *merged.Volume)
	assert.Equal(t, quantity.Length(9e-3), *merged.Bore)
	assert.Nil(t, merged.At)
}

func TestSetupLeavesWhatWasNotToldToTheFit(t *testing.T) {
	t.Parallel()
	s := config.Measure{}.Setup()
	assert.False(t, s.Volume.Told())
	assert.False(t, s.Ambient.Told())
	assert.Negative(t, s.SpanU)
	assert.Empty(t, config.Measure{}.Notes())

	told := config.Measure{Volume: new(quantity.Volume(40e-6)), SpanU: new(quantity.Ratio(0))}
	s = told.Setup()
	assert.InDelta(t, 2e-6, s.Volume.U, 1e-15, "5 % of a volume told without its uncertainty")
	assert.Zero(t, s.SpanU, "a perfect gauge is not one that nothing was told of")
	assert.Len(t, told.Notes(), 1)
}

func TestLoad(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "boretight.toml")
	_, err := config.Load(path)
	assert.ErrorContains(t, err, "does not exist")
	require.NoError(t, os.WriteFile(path, []byte("bench = \"window\"\n"), 0o600))
	c, err := config.Load(path)
	require.NoError(t, err)
	assert.Equal(t, "window", c.Bench)
}

func TestAByteOrderMarkIsNoFault(t *testing.T) {
	t.Parallel()
	c, err := config.Read(strings.NewReader("\xef\xbb\xbfbench = \"window\"\n"))
	require.NoError(t, err)
	assert.Equal(t, "window", c.Bench)
}
