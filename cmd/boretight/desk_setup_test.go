package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sync/errgroup"

	"boretight/internal/catalog"
	"boretight/internal/config"
	"boretight/internal/gauge"
	"boretight/internal/web"
)

// setupDesk is a desk with a settings file of the text given, or none, and the count of how
// often it began anew.
func setupDesk(t *testing.T, text string) (d *desk, again *int) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "boretight.toml")
	told := config.Default()
	if text != "" {
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		var err error
		told, err = config.Load(file)
		require.NoError(t, err)
	}
	again = new(int)
	d = &desk{told: told, page: pageSettings{file: file, again: func() { *again++ }, change: func(func(*config.Config)) {}}}
	return d, again
}

func textOf(t *testing.T, d *desk) string {
	t.Helper()
	text, err := os.ReadFile(d.page.file)
	require.NoError(t, err)
	return string(text)
}

func TestSettingsOfThePageGoIntoTheFile(t *testing.T) {
	d, again := setupDesk(t, "# ours\n[shop]\nname = \"Old name\" # on slips\n")
	err := d.ChangeSettings(t.Context(), map[string]string{"shop.name": "Reed & Bore", "shop.holds": "4", "measure.ambient": "97.9 kPa", "shop.address": "1 Ferry Lane\nPort"})
	require.NoError(t, err)
	assert.Equal(t, 1, *again)
	text := textOf(t, d)
	assert.Contains(t, text, "# ours", "comments stay")
	c, err := config.Load(d.page.file)
	require.NoError(t, err)
	assert.Equal(t, "Reed & Bore", c.Shop.Name)
	assert.Equal(t, 4, c.Shop.Holds)
	assert.Equal(t, []string{"1 Ferry Lane", "Port"}, c.Shop.AddressLines())
	s, err := d.Settings(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "97.9 kPa", s.Values["measure.ambient"])
}

func TestTheFirstSettingMakesTheFile(t *testing.T) {
	d, _ := setupDesk(t, "")
	require.NoError(t, d.ChangeSettings(t.Context(), map[string]string{"rig.hose": "clear 4 mm"}))
	assert.Contains(t, textOf(t, d), "clear 4 mm")
}

func TestRefusedSettingsWriteNothing(t *testing.T) {
	before := "[shop]\nname = \"Reed & Bore\"\n"
	for key, value := range map[string]string{
		"shop.holds": "99", "shop.time-zone": "Mars/Base", "shop.pressure-unit": "furlong", "measure.ambient": "20 kPa",
		"measure.temperature": "warm", "rig.hose": "a\tb", "token": "mine",
	} {
		t.Run(key, func(t *testing.T) {
			d, again := setupDesk(t, before)
			err := d.ChangeSettings(t.Context(), map[string]string{key: value, "shop.name": "New name"})
			var fault *web.Fault
			require.ErrorAs(t, err, &fault)
			assert.Equal(t, key, fault.Field, "beside its field")
			assert.Equal(t, before, textOf(t, d))
			assert.Zero(t, *again)
		})
	}
}

func TestWhatWasToldAtTheStartIsSaid(t *testing.T) {
	d, _ := setupDesk(t, "[rig]\nhose = \"clear 4 mm\"\n")
	d.told.Rig.Hose = "red 3 mm"
	s, err := d.Settings(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "clear 4 mm", s.Values["rig.hose"], "what a change of the file changes")
	assert.NotEmpty(t, s.Over["rig.hose"])
	assert.Empty(t, s.Over["rig.valve"])
}

func TestAGaugeIsUsedAndTakenOffTheBench(t *testing.T) {
	d, again := setupDesk(t, "gauges = [\"lower=serial:COM4\"]\n")
	require.NoError(t, d.UseGauge(t.Context(), "upper", "serial:COM5"))
	c, err := config.Load(d.page.file)
	require.NoError(t, err)
	assert.Equal(t, []string{"lower=serial:COM4", "upper=serial:COM5"}, c.Gauges)
	assert.Equal(t, 1, *again)

	var fault *web.Fault
	require.ErrorAs(t, d.UseGauge(t.Context(), "upper", "serial:COM6"), &fault)
	assert.Equal(t, "name", fault.Field)
	require.ErrorAs(t, d.DropGauge(t.Context(), "none"), &fault)
	require.NoError(t, d.DropGauge(t.Context(), "lower"))
	require.ErrorAs(t, d.DropGauge(t.Context(), "upper"), &fault, "a bench without a gauge has nothing to show")
	assert.Equal(t, 2, *again)
}

func TestAGaugeToldAtTheStartStaysBesideANewOne(t *testing.T) {
	d, again := setupDesk(t, "gauges = [\"lower=serial:COM4\"]\n")
	d.page.gaugesGiven, d.told.Gauges = true, []string{"upper=serial:COM5"}
	d.page.change = func(c func(*config.Config)) { c(&d.told) }
	require.NoError(t, d.UseGauge(t.Context(), "bell", "serial:COM6"))
	assert.Equal(t, []string{"upper=serial:COM5", "bell=serial:COM6"}, d.told.Gauges, "on the bench")
	c, err := config.Load(d.page.file)
	require.NoError(t, err)
	assert.Equal(t, []string{"lower=serial:COM4", "bell=serial:COM6"}, c.Gauges, "in the file, which keeps what it had")
	assert.Equal(t, 1, *again)

	require.NoError(t, os.WriteFile(d.page.file, []byte("gauges = [\n"), 0o600))
	require.Error(t, d.UseGauge(t.Context(), "foot", "serial:COM7"))
	assert.Len(t, d.told.Gauges, 2, "what could not be kept does not count either")
	assert.Equal(t, 1, *again)
}

func TestChangesOfTheSettingsTakeTurns(t *testing.T) {
	d, _ := setupDesk(t, "gauges = [\"lower=serial:COM4\"]\n")
	d.page.again = func() {}
	var group errgroup.Group
	for _, name := range []string{"a", "b", "c", "d", "e", "f", "g", "h"} {
		group.Go(func() error { return d.UseGauge(t.Context(), name, "serial:COM-"+name) })
	}
	require.NoError(t, group.Wait())
	c, err := config.Load(d.page.file)
	require.NoError(t, err)
	assert.Len(t, c.Gauges, 9, "none overwrites another")
}

func TestWithoutAFileChangesCountForThisRun(t *testing.T) {
	d, again := setupDesk(t, "")
	d.page.file, d.page.simulated = "", true
	d.told.Gauges = demoGauges()
	d.page.change = func(c func(*config.Config)) { c(&d.told) }
	require.NoError(t, d.ChangeSettings(t.Context(), map[string]string{"shop.name": "Reed & Bore"}))
	require.NoError(t, d.UseGauge(t.Context(), "bench", "serial:COM5"))
	assert.Equal(t, "Reed & Bore", d.told.Shop.Name)
	assert.Equal(t, []string{"bench=serial:COM5"}, d.told.Gauges, "the simulated one gives way")
	assert.Equal(t, 2, *again)
}

func TestASearchTellsWhatItFindsAsItFindsIt(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		s := newGaugeSearch(gauge.NewClaims())
		goOn := make(chan struct{})
		s.find = func(ctx context.Context, _ gauge.FindOptions, tell func(gauge.Found)) error {
			tell(gauge.Found{Port: gauge.Port{Device: "COM4"}, Heard: gauge.HeardBusy, Err: errors.New("the port is in use")})
			<-goOn
			tell(gauge.Found{Port: gauge.Port{Device: "COM5"}, Heard: gauge.HeardGauge, Address: gauge.Address{Scheme: gauge.Serial, Target: "COM5"}})
			return nil
		}
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan struct{})
		go func() { defer close(ended); s.run(ctx) }()
		assert.True(t, s.now().Began.IsZero())
		s.begin()
		s.begin() // goes on already
		synctest.Wait()
		now := s.now()
		assert.True(t, now.Going)
		require.Len(t, now.Found, 1)
		assert.Empty(t, now.Found[0].Address, "a port of another's is not used")
		assert.Equal(t, "The port is in use.", now.Found[0].Says)
		close(goOn)
		synctest.Wait()
		now = s.now()
		assert.False(t, now.Going)
		require.Len(t, now.Found, 2)
		assert.Contains(t, now.Found[1].Address, "serial:COM5")
		stop()
		<-ended
	})
}

var gSharp = catalog.Thing{Joint: "upper", Kind: catalog.KindSeat, Name: "G#"}

func widerPad(size string) func([]byte) ([]byte, error) {
	return func(text []byte) ([]byte, error) {
		return catalog.Amend(text, "oboe", gSharp, map[string]string{"pad": size}, "")
	}
}

func padOf(t *testing.T, c *shopCatalog) float64 {
	t.Helper()
	known, err := c.load()
	require.NoError(t, err)
	_, j, err := known.Joint("oboe/upper")
	require.NoError(t, err)
	for _, s := range j.Seats {
		if s.Name == "G#" {
			return float64(s.Pad.Value)
		}
	}
	return 0
}

func TestTheShopsCatalogOfADemoStaysInMemory(t *testing.T) {
	c := newShopCatalog(true)
	usual := padOf(t, c)
	require.NoError(t, c.keep("oboe", widerPad("9.25 mm")))
	assert.InDelta(t, 9.25e-3, padOf(t, c), 1e-9)
	require.Error(t, c.keep("oboe", widerPad("3 mm")), "smaller than its hole")
	assert.InDelta(t, 9.25e-3, padOf(t, c), 1e-9, "as it was")
	assert.NoFileExists(t, filepath.Join(c.folder(), "oboe.toml"))
	require.NoError(t, c.keep("oboe", func(text []byte) ([]byte, error) { return catalog.Withdraw(text, gSharp) }))
	assert.InDelta(t, usual, padOf(t, c), 1e-9)
}

func TestAFileOfTheShopsCatalogStaysInItsFolder(t *testing.T) {
	c := newShopCatalog(true)
	for _, name := range []string{"../oboe", "a/b", `a\b`, "c:d"} {
		assert.Error(t, c.keep(name, widerPad("9 mm")), name)
	}
}

func TestTheShopsFileIsWrittenWithTheOldOneBeside(t *testing.T) {
	c := newShopCatalog(false)
	path := filepath.Join(t.TempDir(), "oboe.toml")
	require.NoError(t, c.write(path, nil, []byte("one")))
	require.NoError(t, c.write(path, []byte("one"), []byte("two")))
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "two", string(text))
	text, err = os.ReadFile(path + ".before")
	require.NoError(t, err)
	assert.Equal(t, "one", string(text))
	require.NoError(t, c.write(path, []byte("two"), nil))
	assert.NoFileExists(t, path, "a file that tells nothing is none")
}
