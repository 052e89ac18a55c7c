package config

import (
	"errors"
	"fmt"
	"math"

	"boretight/internal/decay"
	"boretight/internal/quantity"
)

// Measure is what is told of the joint, the room and the limit. A nil field was not
// told. Its tags serve the file and the flags.
type Measure struct {
	Volume      *quantity.Volume                  `toml:"volume" group:"measure" placeholder:"34.2ml" help:"Everything enclosed in the hold: joint, hose and gauge. Without it, or one on record of the joint, there is no leakage rate."`
	VolumeU     *quantity.Spread[quantity.Volume] `toml:"volume-u" name:"volume-u" group:"measure" placeholder:"1%" help:"Standard uncertainty of the volume, such as 0.34ml or 1%; 5% when not told."`
	Bore        *quantity.Length                  `toml:"bore" group:"measure" placeholder:"9mm" help:"Mean inner diameter; a wide guess when not told."`
	Ambient     *quantity.Pressure                `toml:"ambient" group:"measure" placeholder:"98.3kPa" help:"Pressure in the room, as a barometer here reads, not reduced to sea level; 101.325 ± 3 kPa when not told."`
	Temperature *quantity.Temperature             `toml:"temperature" group:"measure" placeholder:"22.5C" help:"Temperature of room and joint; the gauge's, or 20 ± 5 °C, when not told."`
	At          *quantity.Pressure                `toml:"at" group:"measure" placeholder:"2.5kPa" help:"Pressure difference that the result is stated at; 2.5kPa when not told."`
	Limit       *quantity.LeakRate                `toml:"limit" group:"measure" placeholder:"2.5sccm" help:"Largest leakage rate that passes. Without it, or one that the shop has set for the joint, there is no verdict."`
	SpanU       *quantity.Ratio                   `toml:"span-u" name:"span-u" group:"measure" placeholder:"2%" help:"Relative standard uncertainty of the gauge's span; as its calibration on record says, else 2%, when not told; 0 for a perfect gauge."`
}

// Standard uncertainties of values that are told without one.
const (
	// defaultVolumeU is the relative uncertainty of a volume.
	defaultVolumeU = 0.05
	// toldAmbientU in Pa: a barometer at the bench is good to 1 hPa. Common practice, no source.
	toldAmbientU = 100
	// toldTemperatureU in K: a room thermometer, and a joint that has lain beside it.
	toldTemperatureU = 0.5
)

// Setup returns what the fit is told. Not told stays not told, so that the fit says
// itself what it took instead; only the uncertainty of a volume is filled in here,
// see [Measure.Notes].
func (m Measure) Setup() decay.Setup {
	s := decay.Setup{SpanU: -1}
	if m.Volume != nil {
		v := float64(*m.Volume)
		s.Volume = decay.Input{Value: v, U: defaultVolumeU * v}
		if m.VolumeU != nil {
			s.Volume.U = float64(m.VolumeU.Of(*m.Volume))
		}
	}
	if m.Bore != nil {
		s.Bore = decay.Input{Value: float64(*m.Bore)} // the fit knows how bores vary
	}
	if m.Ambient != nil {
		s.Ambient = decay.Input{Value: float64(*m.Ambient), U: toldAmbientU}
	}
	if m.Temperature != nil {
		s.Temperature = decay.Input{Value: float64(*m.Temperature), U: toldTemperatureU}
	}
	if m.At != nil {
		s.At = float64(*m.At)
	}
	if m.SpanU != nil {
		s.SpanU = float64(*m.SpanU)
	}
	return s
}

// Notes says which uncertainty [Measure.Setup] filled in.
func (m Measure) Notes() []string {
	if m.Volume == nil || m.VolumeU != nil {
		return nil
	}
	return []string{"The volume was told without its uncertainty: a standard uncertainty of 5 % was taken."}
}

// Doubts says which of the values told are hardly those of a joint, so that each result
// must be read with care.
func (m Measure) Doubts() []string {
	if m.Volume == nil {
		return nil
	}
	if note := unusual(*m.Volume); note != "" {
		return []string{note}
	}
	return nil
}

// Joints enclose from some ml (a head joint of a piccolo) to a few litres (a bass
// saxophone). Common practice, no source.
const (
	leastUsual quantity.Volume = 1e-6
	mostUsual  quantity.Volume = 10e-3
)

// unusual asks whether another unit was meant where a volume is hardly that of a joint;
// nothing where it may be.
func unusual(v quantity.Volume) string {
	told, unit, meant := v, "ml", v*1000
	switch {
	case v > mostUsual:
		told, unit, meant = v/1000, "l", v/1000
	case v >= leastUsual:
		return ""
	}
	return fmt.Sprintf("A volume of %.4g %s is unusual for a joint: did you mean %.4g ml? The leakage rate is proportional to it.",
		float64(told)*1e6, unit, float64(meant)*1e6)
}

// Over returns m with what it was not told taken from base.
func (m Measure) Over(base Measure) Measure {
	return Measure{
		Volume:      over(m.Volume, base.Volume),
		VolumeU:     over(m.VolumeU, base.VolumeU),
		Bore:        over(m.Bore, base.Bore),
		Ambient:     over(m.Ambient, base.Ambient),
		Temperature: over(m.Temperature, base.Temperature),
		At:          over(m.At, base.At),
		Limit:       over(m.Limit, base.Limit),
		SpanU:       over(m.SpanU, base.SpanU),
	}
}

func over[T any](told, base *T) *T {
	if told != nil {
		return told
	}
	return base
}

// Validate returns all values that make no sense at a bench.
func (m Measure) Validate() error {
	var faults []error
	check := func(key string, value fmt.Stringer, ok bool, want string) {
		if !ok {
			faults = append(faults, fmt.Errorf("%s = %s: want %s", key, value, want))
		}
	}
	if m.Volume != nil {
		check("volume", *m.Volume, within(float64(*m.Volume), 1e-7, 0.1), "from 0.1 ml to 100 l")
	}
	if m.VolumeU != nil {
		switch {
		case m.Volume == nil:
			faults = append(faults, errors.New("volume-u is told without a volume: tell both"))
		default:
			check("volume-u", *m.VolumeU, float64(m.VolumeU.Of(*m.Volume)) <= float64(*m.Volume)/2, "at most half the volume")
		}
	}
	if m.Bore != nil {
		check("bore", *m.Bore, within(float64(*m.Bore), 1e-4, 0.5), "from 0.1 mm to 500 mm")
	}
	if m.Ambient != nil {
		check("ambient", *m.Ambient, within(float64(*m.Ambient), 50e3, 120e3), "from 50 kPa to 120 kPa")
	}
	if m.Temperature != nil {
		check("temperature", *m.Temperature, within(float64(*m.Temperature), 263.15, 323.15), "from -10 °C to 50 °C")
	}
	if m.At != nil {
		check("at", *m.At, within(float64(*m.At), 50, 20e3), "from 50 Pa to 20 kPa")
	}
	if m.SpanU != nil {
		check("span-u", *m.SpanU, within(float64(*m.SpanU), 0, 0.5), "from 0 to 50 %")
	}
	if m.Limit != nil {
		check("limit", *m.Limit, m.Limit.At(roomTemperature) > 0, "more than 0")
	}
	return errors.Join(faults...)
}

// roomTemperature in K stands for the temperature of a room that none was told of.
const roomTemperature quantity.Temperature = 293.15

func within(x, low, high float64) bool { return !math.IsNaN(x) && low <= x && x <= high }
