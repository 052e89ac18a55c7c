package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/url"
	"os"
	"strconv"
	"strings"

	"boretight/internal/config"
	"boretight/internal/quantity"
	"boretight/internal/web"
)

var _ web.SetupDesk = (*desk)(nil)

// settingValues are the settings that the page shows, by their key.
func settingValues(c config.Config) map[string]string {
	text := func(v interface{ MarshalText() ([]byte, error) }) string {
		t, err := v.MarshalText()
		if err != nil {
			return ""
		}
		return string(t)
	}
	values := map[string]string{
		"shop.name": c.Shop.Name, "shop.address": strings.Join(c.Shop.AddressLines(), "\n"),
		"shop.pressure-unit": c.Shop.PressureUnit.Symbol(), "shop.flow-unit": c.Shop.FlowUnit.Symbol(), "shop.length-unit": c.Shop.LengthUnit.Symbol(),
		"shop.time-zone": c.Shop.TimeZone, "shop.holds": strconv.Itoa(c.Shop.Holds),
		"rig.hose": c.Rig.Hose, "rig.stoppers": c.Rig.Stoppers, "rig.valve": c.Rig.Valve,
		"measure.ambient": "", "measure.temperature": "", "gauges": strings.Join(c.Gauges, "\n"),
	}
	if c.Measure.Ambient != nil {
		values["measure.ambient"] = text(*c.Measure.Ambient)
	}
	if c.Measure.Temperature != nil {
		values["measure.temperature"] = text(*c.Measure.Temperature)
	}
	return values
}

// kept is what the settings file says, or where nothing is kept what the bench was told.
func (d *desk) kept() (config.Config, error) {
	if d.page.file == "" {
		return d.told, nil
	}
	if _, err := os.Stat(d.page.file); errors.Is(err, fs.ErrNotExist) {
		return config.Default(), nil
	}
	return config.Load(d.page.file)
}

// Settings implements [web.SetupDesk].
func (d *desk) Settings(context.Context) (web.Settings, error) {
	kept, err := d.kept()
	if err != nil {
		return web.Settings{}, err
	}
	s := web.Settings{Values: settingValues(kept), Over: map[string]string{}, File: d.page.file, Simulated: d.page.simulated, Reach: d.reach()}
	for key, told := range settingValues(d.told) {
		if told != s.Values[key] && !d.page.simulated {
			s.Over[key] = "the command line or the environment"
		}
	}
	return s, nil
}

// reachOf are the addresses at which others come to a page; none on loopback.
func reachOf(at net.Addr, secure security) []string {
	if secure.tls == nil {
		return nil
	}
	first, others := pageAddresses(at, secure)
	return append([]string{first}, others...)
}

// reach is how a tablet comes to the page.
func (d *desk) reach() web.Reach {
	secure := d.page.security
	r := web.Reach{Fingerprint: secure.fingerprint, Own: secure.own}
	for _, address := range d.page.reach {
		if d.told.Token != "" {
			address += "?token=" + url.QueryEscape(d.told.Token)
		}
		r.Addresses = append(r.Addresses, address)
	}
	return r
}

// ChangeSettings implements [web.SetupDesk].
func (d *desk) ChangeSettings(_ context.Context, values map[string]string) error {
	d.setting.Lock()
	defer d.setting.Unlock()
	kept, err := d.kept()
	if err != nil {
		return err
	}
	var faults []error
	for key, value := range values {
		if err := setSetting(&kept, key, value); err != nil {
			faults = append(faults, &web.Fault{Field: key, Says: said(err)})
		}
	}
	if len(faults) == 0 {
		faults = append(faults, faultsByKey(errors.Join(kept.Shop.Validate(), kept.Measure.Validate(), kept.Rig.Validate()), func(name string) string {
			for key := range values {
				if strings.HasSuffix(key, "."+name) {
					return key
				}
			}
			return ""
		}))
	}
	if err := errors.Join(faults...); err != nil {
		return err
	}
	var changes []config.Change
	for key, value := range values {
		if key == "shop.holds" {
			changes = append(changes, config.Set(key, kept.Shop.Holds))
		} else {
			changes = append(changes, config.Set(key, value))
		}
	}
	var run func(*config.Config)
	if d.page.file == "" {
		run = func(c *config.Config) {
			for key, value := range values {
				_ = setSetting(c, key, value) // it was set once already
			}
		}
	}
	return d.change(changes, run)
}

// change writes changes into the settings file where there is one, lets what run does count
// for this run unless it is nil, and begins anew.
func (d *desk) change(changes []config.Change, run func(*config.Config)) error {
	if d.page.file != "" {
		if err := config.Save(d.page.file, func(text []byte) ([]byte, error) { return config.Edit(text, changes...) }); err != nil {
			return &web.Fault{Says: said(err)}
		}
	}
	if run != nil {
		d.page.change(run)
	}
	d.page.again()
	return nil
}

// setSetting gives a key of the settings a value as text.
func setSetting(c *config.Config, key, value string) error {
	switch key {
	case "shop.name":
		c.Shop.Name = value
	case "shop.address":
		c.Shop.Address = value
	case "shop.pressure-unit":
		return c.Shop.PressureUnit.UnmarshalText([]byte(value))
	case "shop.flow-unit":
		return c.Shop.FlowUnit.UnmarshalText([]byte(value))
	case "shop.length-unit":
		return c.Shop.LengthUnit.UnmarshalText([]byte(value))
	case "shop.time-zone":
		c.Shop.TimeZone = value
	case "shop.holds":
		n, err := strconv.Atoi(value)
		if err != nil {
			return fmt.Errorf("%q is no number: want such as 3", value)
		}
		c.Shop.Holds = n
	case "rig.hose":
		c.Rig.Hose = value
	case "rig.stoppers":
		c.Rig.Stoppers = value
	case "rig.valve":
		c.Rig.Valve = value
	case "measure.ambient":
		return setQuantity(&c.Measure.Ambient, value, quantity.ParsePressure)
	case "measure.temperature":
		return setQuantity(&c.Measure.Temperature, value, quantity.ParseTemperature)
	default:
		return fmt.Errorf("no setting %q is changed here", key)
	}
	return nil
}

func setQuantity[Q any](to **Q, value string, parse func(string) (Q, error)) error {
	if value == "" {
		*to = nil
		return nil
	}
	q, err := parse(value)
	if err == nil {
		*to = &q
	}
	return err
}
