package config_test

import (
	"strings"
	"testing"
	"time"
	_ "time/tzdata" // Windows has no table of zones

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"boretight/internal/config"
	"boretight/internal/quantity"
)

func TestAShopIsReadFromTheFile(t *testing.T) {
	t.Parallel()
	c, err := config.Read(strings.NewReader("[shop]\nname = \"Reed & Key\"\naddress = \"\"\"\n1 Mill Lane\r\n\nOboeville\n\"\"\"\npressure-unit = \"in h2o\"\nflow-unit = \"cm3/min\"\ntime-zone = \"UTC\"\n"))
	require.NoError(t, err)
	assert.Equal(t, "Reed & Key", c.Shop.Name)
	assert.Equal(t, []string{"1 Mill Lane", "Oboeville"}, c.Shop.AddressLines())
	units := c.Shop.Units()
	assert.Equal(t, "inH2O cm³/min mm", units.Pressure.Symbol()+" "+units.Flow.Symbol()+" "+units.Length.Symbol())
	assert.Equal(t, 3, c.Shop.Holds, "what is not told stays the default")
	where, err := c.Shop.Location()
	require.NoError(t, err)
	assert.Equal(t, time.UTC, where)
}

func TestAShopThatSaysNothingIsTheDefault(t *testing.T) {
	t.Parallel()
	shop := config.DefaultShop()
	require.NoError(t, shop.Validate())
	assert.Empty(t, shop.AddressLines())
	where, err := shop.Location()
	require.NoError(t, err)
	assert.Equal(t, time.Local, where)
}

func TestWhatAShopCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ line, want string }{
		"a name of two lines":        {`name = "a\nb"`, `name = "a\nb": want 1 to 80`},
		"a name of blanks":           {`name = "  "`, `name = "  ": want`},
		"a long name":                {`name = "` + strings.Repeat("x", 81) + `"`, "1 to 80"},
		"an address with an escape":  {`address = "a\n\u001b[31m"`, `address = "\x1b[31m": want lines`},
		"an address of seven lines":  {`address = "1\n2\n3\n4\n5\n6\n7"`, "has 7 lines, want at most 6"},
		"a pressure unit not known":  {`pressure-unit = "psi"`, "pressure-unit: choose unit of pressure"},
		"a flow unit not known":      {`flow-unit = "slm"`, "use one of sccm, cm³/min, Pa·m³/s"},
		"a length unit not known":    {`length-unit = "ell"`, "use one of mm, thou"},
		"a time zone that is none":   {`time-zone = "Mars/Olympus"`, `time-zone = "Mars/Olympus": want a name such as`},
		"no hold at all":             {`holds = 0`, "holds = 0: want from 1 to 30"},
		"more holds than a day has":  {`holds = 31`, "holds = 31: want from 1 to 30"},
		"a key that nobody knows of": {`motto = "x"`, `line 2, column 1: unknown key "shop.motto"`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := config.Read(strings.NewReader("[shop]\n" + c.line + "\n"))
			assert.ErrorContains(t, err, c.want)
		})
	}
}

func TestAShopToldLaterCountsOverOneToldBefore(t *testing.T) {
	t.Parallel()
	base := config.Shop{Name: "A", Address: "B", PressureUnit: quantity.Millibars, FlowUnit: quantity.RoomFlow, LengthUnit: quantity.Thousandths, TimeZone: "UTC", Holds: 5}
	assert.Equal(t, base, config.Shop{}.Over(base))
	later := config.Shop{Name: "C", Address: "D", PressureUnit: quantity.InchesOfWater, FlowUnit: quantity.StandardFlow, LengthUnit: quantity.Millimetres, TimeZone: "Europe/Paris", Holds: 2}
	assert.Equal(t, later, later.Over(base))
}
