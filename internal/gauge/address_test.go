package gauge_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/gauge"
	"boretight/internal/trace"
)

func TestAddresses(t *testing.T) {
	serial := func(port string) gauge.Address {
		return gauge.Address{Scheme: gauge.Serial, Target: port, Baud: 115200, Dialect: gauge.Frames}
	}
	text := serial("/dev/ttyUSB0")
	text.Baud, text.Dialect, text.Unit, text.Field = 9600, gauge.Text, "kPa", 1
	turned := text
	turned.Field, turned.Negate, turned.DecimalComma = 2, true, true
	absolute := gauge.Address{Scheme: gauge.TCP, Target: "h:1", Dialect: gauge.Text, Unit: "mbar", Kind: trace.Absolute}
	named := serial("/dev/ttyUSB0")
	named.Name = "left-bench"
	down := serial("COM5")
	down.DTR, down.RTS = gauge.LevelOff, gauge.LevelOn
	for _, c := range []struct {
		text, label string
		want        gauge.Address
	}{
		{"serial:/dev/ttyUSB0", "ttyUSB0", serial("/dev/ttyUSB0")},
		{"serial:COM5", "COM5", serial("COM5")},
		{"serial:com7", "COM7", serial("com7")},
		{`serial:\\.\COM10`, "COM10", serial(`\\.\COM10`)},
		{"serial:/dev/ttyUSB0?baud=9600&dialect=text&unit=kPa&field=1", "ttyUSB0", text},
		{"serial:/dev/ttyUSB0?baud=9600&dialect=text&unit=kPa&field=2&sign=-&decimal=comma", "ttyUSB0", turned},
		{"tcp:h:1?dialect=text&unit=mbar&kind=absolute", "h:1", absolute},
		{"left-bench=serial:/dev/ttyUSB0", "left-bench", named},
		{"serial:COM5?dtr=off&rts=on", "COM5", down},
		{"tcp:127.0.0.1:4001", "127.0.0.1:4001", gauge.Address{Scheme: gauge.TCP, Target: "127.0.0.1:4001", Dialect: gauge.Frames}},
		{"tcp:[::1]:4001", "[::1]:4001", gauge.Address{Scheme: gauge.TCP, Target: "[::1]:4001", Dialect: gauge.Frames}},
		{"sim:tight", "tight", gauge.Address{Scheme: gauge.Sim, Target: "tight"}},
		{"sim:tight?speed=6", "tight", gauge.Address{Scheme: gauge.Sim, Target: "tight", Speed: 6}},
		{"sim:tight?seed=7", "tight", gauge.Address{Scheme: gauge.Sim, Target: "tight", Seed: 7}},
		{"replay:holds/a.csv", "a.csv", gauge.Address{Scheme: gauge.Replay, Target: "holds/a.csv", Speed: 1}},
		{"replay:a.csv?speed=0", "a.csv", gauge.Address{Scheme: gauge.Replay, Target: "a.csv"}},
		{"replay:what?.csv?speed=2.5", "what?.csv", gauge.Address{Scheme: gauge.Replay, Target: "what?.csv", Speed: 2.5}},
		{"replay:a?b=c.csv?", "a?b=c.csv", gauge.Address{Scheme: gauge.Replay, Target: "a?b=c.csv", Speed: 1}},
	} {
		got, err := gauge.ParseAddress(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
		assert.Equal(t, c.text, got.String())
		assert.Equal(t, c.label, got.Label())
	}
	got, err := gauge.ParseAddress("serial:COM5?baud=115200&dialect=frames")
	require.NoError(t, err)
	assert.Equal(t, "serial:COM5", got.String(), "defaults are not written")
}

func TestAddressesThatAreRefused(t *testing.T) {
	const hint = "an address begins with serial:, tcp:, sim: or replay:, such as serial:/dev/ttyUSB0, serial:COM5, tcp:127.0.0.1:4001, sim:NAME, replay:FILE"
	for text, want := range map[string]string{
		"":                                  `no kind of gauge; ` + hint,
		"COM5":                              `no kind of gauge; ` + hint,
		"usb:1":                             `unknown kind of gauge "usb"; ` + hint,
		"serial:":                           `nothing after "serial:"; ` + hint,
		"a b=sim:x":                         `name "a b": 1 to 32 of letters, digits, - and _ are allowed`,
		"=sim:x":                            `name "": 1 to 32 of letters, digits, - and _ are allowed`,
		"serial:COM5?bauds=1":               `unknown option "bauds"; serial takes baud, dialect, unit, field, sign, decimal, kind, dtr, rts`,
		"sim:x?rate=1":                      `unknown option "rate"; sim takes seed, speed`,
		"serial:COM5?baud=fast":             `option baud=fast: want a rate in baud, such as 115200`,
		"serial:COM5?baud=9600&baud=1":      `option "baud" is given more than once`,
		"serial:COM5?dialect=morse":         `option dialect=morse: want frames, text, scpi or modbus`,
		"serial:COM5?unit=kPa":              `option unit goes with dialect=text, not frames`,
		"tcp:h:1?sign=%2B":                  `option sign goes with dialect=text, not frames`,
		"serial:COM5?dialect=text&sign=~":   `option sign=~: want +, or - for a gauge that shows vacuum as a positive number`,
		"serial:COM5?dialect=text&decimal=": `option decimal=: want point or comma`,
		"serial:COM5?dialect=text&kind=a":   `option kind=a: want gauge or absolute`,
		"serial:COM5?dialect=text&kind=absolute&sign=-": `option sign=-: an absolute pressure has no sign to turn`,
		"serial:COM5?dialect=text&unit=V":               `option unit=V: parse unit of pressure: unit "V" is not known (use one of Pa, hPa, kPa, mbar, bar, atm, mmH2O, cmH2O, inH2O, mmHg, inHg, Torr, psi)`,
		"serial:COM5?dialect=text&field=0":              `option field=0: want the place of the number on its line, from 1`,
		"serial:COM5?dialect=text&unit=":                `option unit=: want a unit of pressure, such as kPa`,
		"serial:COM5?dtr=up":                            `option dtr=up: want on or off`,
		"sim:a?speed=0":                                 `option speed=0: want a factor over 0, at most 100`,
		"replay:a?speed=-1":                             `option speed=-1: want a factor such as 1, or 0 for as fast as possible`,
		"replay:a?speed=NaN":                            `option speed=NaN: want a factor such as 1, or 0 for as fast as possible`,
		"sim:x?seed=-1":                                 `option seed=-1: want a whole number`,
		"tcp:localhost":                                 `"localhost" is not HOST:PORT, such as 127.0.0.1:4001`,
		"tcp:localhost:":                                `"localhost:" is not HOST:PORT, such as 127.0.0.1:4001`,
	} {
		_, err := gauge.ParseAddress(text)
		assert.EqualError(t, err, `gauge address "`+text+`": `+want)
	}
}

func TestDialectsThatAreNotBuiltAreRefusedHonestly(t *testing.T) {
	a, err := gauge.ParseAddress("serial:COM5?dialect=scpi")
	require.NoError(t, err)
	_, err = gauge.Open(a, gauge.Options{})
	assert.EqualError(t, err, "gauge serial:COM5?dialect=scpi: dialect scpi is not built yet: this program reads dialects frames and text")
}

// FuzzAddressSurvivesItsText: what parses prints and parses as the same.
func FuzzAddressSurvivesItsText(f *testing.F) {
	f.Add("left=serial:/dev/ttyUSB0?baud=9600&dialect=text&unit=%25+x&field=1")
	f.Add("replay:a?b=c?")
	f.Add("replay:\\\\?\\C:\\a.csv?speed=1e-3")
	f.Add("sim:x?seed=9")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := gauge.ParseAddress(text)
		if err != nil {
			t.Skip()
		}
		again, err := gauge.ParseAddress(a.String())
		require.NoError(t, err, a.String())
		assert.Equal(t, a, again)
	})
}
