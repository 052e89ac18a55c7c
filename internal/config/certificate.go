package config

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// Certificate is a reference leak as its file tells it.
type Certificate struct {
	rig.Certificate
	// Dead is what leak and fitting hold, m³; zero when not told.
	Dead rig.Measured
	// Notes say what was assumed.
	Notes []string
}

// certificateFile is the file as it is written. A nil field was not told.
type certificateFile struct {
	ID          string                                  `toml:"id"`
	LeakRate    *quantity.LeakRate                      `toml:"leak-rate"`
	LeakRateU   string                                  `toml:"leak-rate-u"`
	At          *quantity.Setting[quantity.Pressure]    `toml:"at"`
	Sign        string                                  `toml:"sign"`
	Ambient     *quantity.Setting[quantity.Pressure]    `toml:"ambient"`
	Temperature *quantity.Setting[quantity.Temperature] `toml:"temperature"`
	Inertial    *quantity.Setting[quantity.Ratio]       `toml:"inertial-share"`
	InertialU   *quantity.Setting[quantity.Ratio]       `toml:"inertial-share-u"`
	Volume      *quantity.Setting[quantity.Volume]      `toml:"volume"`
	VolumeU     *quantity.Spread[quantity.Volume]       `toml:"volume-u"`
}

// What is taken of a certificate that does not say it.
const (
	// assumedInertialU is for a leak that somebody will have chosen for being laminar.
	assumedInertialU = 0.05
	// assumedDeadU is the relative uncertainty of a dead volume told without one.
	assumedDeadU = 0.2
)

// LoadCertificate reads the file at path.
func LoadCertificate(path string) (Certificate, error) {
	file, err := os.Open(path)
	if err != nil {
		return Certificate{}, fmt.Errorf("read certificate: %w", err)
	}
	defer file.Close()
	c, err := ReadCertificate(file)
	if err != nil {
		return Certificate{}, fmt.Errorf("certificate %s: %w", path, err)
	}
	return c, nil
}

// ReadCertificate reads a certificate in TOML, each number with its unit. All faults are
// returned at once.
func ReadCertificate(r io.Reader) (Certificate, error) {
	var f certificateFile
	if err := toml.NewDecoder(r).DisallowUnknownFields().Decode(&f); err != nil {
		return Certificate{}, placed(err)
	}
	if err := f.complete(); err != nil {
		return Certificate{}, err
	}
	c := Certificate{Certificate: rig.Certificate{ID: f.ID}}
	temperature := f.Temperature.Value
	c.At = rig.Conditions{Difference: float64(f.At.Value), Ambient: float64(f.Ambient.Value), Temperature: float64(temperature)}
	c.Throughput.Value = float64(f.LeakRate.At(temperature))
	var faults []error
	var err error
	if c.Throughput.U, err = leakRateU(f.LeakRateU, c.Throughput.Value, temperature); err != nil {
		faults = append(faults, err)
	}
	if c.At.Sign.UnmarshalText([]byte(f.Sign)) != nil || c.At.Sign == 0 {
		faults = append(faults, fmt.Errorf("sign = %q: want suction or pressure", f.Sign))
	}
	c.Inertial, c.Notes = f.inertial()
	if f.Volume != nil {
		c.Dead = rig.Measured{Value: float64(f.Volume.Value), U: assumedDeadU * float64(f.Volume.Value)}
		if f.VolumeU != nil {
			c.Dead.U = float64(f.VolumeU.Of(f.Volume.Value))
		}
	}
	return c, errors.Join(append(faults, c.validate())...)
}

// complete says what is missing.
func (f certificateFile) complete() error {
	var faults []error
	want := func(key, example string, told bool) {
		if !told {
			faults = append(faults, fmt.Errorf("%s is not told: want %s = %q", key, key, example))
		}
	}
	want("id", "RL-7", f.ID != "")
	want("leak-rate", "2.1sccm", f.LeakRate != nil)
	want("leak-rate-u", "1%", f.LeakRateU != "")
	want("at", "2.5kPa", f.At != nil)
	want("sign", "suction", f.Sign != "")
	want("ambient", "101.325kPa", f.Ambient != nil)
	want("temperature", "23C", f.Temperature != nil)
	return errors.Join(faults...)
}

// leakRateU reads a standard uncertainty of a leakage rate: relative, or one itself.
func leakRateU(text string, value float64, temperature quantity.Temperature) (float64, error) {
	if strings.Contains(text, "%") {
		ratio, err := quantity.ParseRatio(text)
		if err == nil && ratio < 0 {
			err = errors.New("want 0 or more")
		}
		if err != nil {
			return 0, fmt.Errorf("leak-rate-u = %q: %w", text, err)
		}
		return float64(ratio) * value, nil
	}
	u, err := quantity.ParseLeakRate(text)
	if err != nil {
		return 0, fmt.Errorf("leak-rate-u = %q: want such as 1%% or 0.02sccm: %w", text, err)
	}
	return float64(u.At(temperature)), nil
}

// inertial is the inertial share, with what was assumed of it.
func (f certificateFile) inertial() (rig.Measured, []string) {
	m := rig.Measured{U: assumedInertialU}
	var notes []string
	if f.Inertial != nil {
		m.Value = float64(f.Inertial.Value)
	} else {
		notes = append(notes, "The certificate does not say what share of the pressure difference is inertial: 0 ± 0.05 was assumed.")
	}
	if f.InertialU != nil {
		m.U = float64(f.InertialU.Value)
	}
	return m, notes
}

// validate returns all that cannot be.
func (c Certificate) validate() error {
	var faults []error
	check := func(ok bool, format string, args ...any) {
		if !ok {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	check(c.Throughput.Value > 0, "leak-rate: want more than 0")
	check(c.Throughput.U < c.Throughput.Value/2, "leak-rate-u: want less than half of the leak rate")
	check(within(c.At.Difference, 50, 20e3), "at = %s: want from 50 Pa to 20 kPa", quantity.Pressure(c.At.Difference))
	check(within(c.At.Ambient, 50e3, 120e3), "ambient = %s: want from 50 kPa to 120 kPa", quantity.Pressure(c.At.Ambient))
	check(within(c.At.Temperature, 263.15, 323.15), "temperature = %s: want from -10 °C to 50 °C", quantity.Temperature(c.At.Temperature))
	check(within(c.Inertial.Value, 0, 1) && within(c.Inertial.U, 0, 0.5), "inertial-share: want from 0 to 1, known to 0.5 or better")
	check(within(c.Dead.Value, 0, 1e-3) && c.Dead.U <= c.Dead.Value, "volume: want up to 1 l, known to better than itself")
	return errors.Join(faults...)
}
