package decay

import (
	"cmp"
	"fmt"
	"math"

	"boretight/internal/air"
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// What is believed before a hold is looked at. These are judgements about joints,
// pads and sensors (common practice, no source, where none is named), kept here
// together so that they can be argued with.
const (
	// The inertial share lies anywhere from 0 to 1, a thin gap being likelier.
	shareMean, shareU = 0.2, 0.45
	// But a trickle is laminar whatever it comes through: at this throughput in
	// Pa·m³/s (0.05 sccm) even a single hole through a skin of 0.02 mm, thinner than
	// any pad's, loses 8 % of Δp to inertia and the rest to friction (Hagen–Poiseuille
	// with 1½ velocity heads), and ever less as it shrinks.
	trickle = 9e-5
	// The zero of a gauge that had no rest before the draw, in Pa about the level taken for it.
	zeroU = 10
	// A zero drifts by so much, in Pa/s, where no rest shows otherwise: 0.028 is
	// weather alone (1 hPa in an hour).
	driftU = 0.03
	// The wall of a joint at rest warms or cools by so much, in K/s.
	warmingU = 0.0002
	// The mean bore that a repairer tells is not quite that which heat sees: bores
	// taper, hoses and stoppers belong to the volume.
	boreU = 0.12
	// A joint's bore runs from 1−w to 1+w of its mean: 0 for a flute or a clarinet,
	// 0.3 to 0.4 for an oboe, a bassoon or a saxophone. These are of w².
	taperMean, taperU = 0.03, 0.05
	// Hose and stoppers hold about so much, in m³, as wide a guess as it looks.
	hoseVolume = 2e-6
	// Above this radius in m free convection helps conduction (design figure for
	// air at 2.5 kPa), and the heat is known less well.
	wideRadius, wideBoreU = 0.012, 0.25
	// An absolute gauge is good to so much, in Pa, at rest.
	restU = 100
	// Defaults of what is not told.
	ambientU, temperatureU, gaugeTemperatureU, defaultSpanU = AssumedAmbientU, AssumedTemperatureU, GaugeTemperatureU, AssumedSpanU
)

// What a fit takes of a room and a gauge that nobody told of, for those who compute with
// the same hold's figures: the ambient pressure is that of the standard atmosphere.
const (
	AssumedAmbientU     = 3000   // Pa
	AssumedTemperature  = 293.15 // K, where the gauge has no thermometer
	AssumedTemperatureU = 5      // K
	GaugeTemperatureU   = 1      // K: a gauge's thermometer tells the gauge's warmth
	AssumedSpanU        = 0.02   // relative, without a calibration
	AbsoluteRestU       = restU  // Pa: of an absolute gauge at rest, which tells the room's pressure
)

// known is the setup with every default filled in.
type known struct {
	at              float64
	volume          Input // zero when not told
	radius, boreU   float64
	boreTold        bool
	narrow, narrowU float64
	warmU           float64 // Pa/s
	share           Input
	creepU          [nCreep]float64
	ambient, temp   Input
	span, spanU     float64
	rig             Input
	quantum         float64 // step in Pa on which the differences lie, 0 when none shows; of the whole hold
	notes, assumed  []string
}

// creepU is the share of Δ by which pads and hoses give way at each of creepTimes.
// It is let be negative: a mean of zero then biases nothing where there is none.
var creepU = [nCreep]float64{0.006, 0.005, 0.004, 0.002}

// believedShare is what is believed of the inertial share of a hold with a time
// constant in s.
func (k known) believedShare(tau float64) Input {
	if !k.volume.Told() {
		return Input{shareMean, shareU}
	}
	q := k.at / tau * k.volume.Value
	x := q * q / (q*q + trickle*trickle)
	return Input{x * shareMean, x * shareU}
}

// complete fills in what was not told, and notes it.
func complete(h *hold.Hold, s Setup) known {
	k := known{at: s.At, volume: s.Volume, ambient: s.Ambient, temp: s.Temperature, spanU: s.SpanU, rig: s.Rig, span: cmp.Or(s.Span, 1)}
	note := func(format string, args ...any) { k.notes = append(k.notes, fmt.Sprintf(format, args...)) }
	assume := func(format string, args ...any) { k.assumed = append(k.assumed, fmt.Sprintf(format, args...)) }
	if k.at <= 0 {
		k.at = DefaultAt
	}
	if !k.volume.Told() {
		note("No volume was told: a leakage rate needs one, so only the pressure rate and the time constant are given.")
	}
	switch {
	case s.Bore.Told():
		k.radius, k.boreU, k.boreTold = s.Bore.Value/2, boreU, true
		if k.radius > wideRadius {
			k.boreU = wideBoreU
		}
		if s.Bore.U > 0 {
			k.boreU = math.Hypot(k.boreU, s.Bore.U/s.Bore.Value)
		}
	case k.volume.Told():
		// Joints from an oboe's to a saxophone's grow so, within about a third.
		k.radius = 4.4e-3 * math.Pow(k.volume.Value/11.5e-6, 0.34)
		k.boreU = 0.4
		assume("No bore was told: about %.0f mm is assumed from the volume, with a wide doubt.", 2e3*k.radius)
	default:
		k.radius, k.boreU = 7e-3, 0.7
		assume("No bore was told: 14 mm is assumed, with a very wide doubt.")
	}
	k.narrow, k.narrowU = 0.05, 0.15
	if k.volume.Told() {
		k.narrow = math.Min(hoseVolume/k.volume.Value, 0.2)
		k.narrowU = math.Min(1.5*k.narrow+0.02, 0.25)
	}
	switch {
	case h.Kind == trace.Absolute && !k.ambient.Told():
		k.ambient = Input{h.RestLevel, restU}
		assume("The ambient pressure is the gauge's own at rest: %.2f kPa.", h.RestLevel/1e3)
	case h.Kind == trace.Absolute && math.Abs(k.ambient.Value-h.RestLevel) > 2*math.Hypot(k.ambient.U, restU):
		note("The told ambient pressure is %.2f kPa, but the gauge's own at rest %.2f kPa: the told one is used, with a doubt as wide as that. Look at both: is it the station's, not that at sea level?", k.ambient.Value/1e3, h.RestLevel/1e3)
		k.ambient.U = math.Max(k.ambient.U, math.Abs(k.ambient.Value-h.RestLevel))
	case !k.ambient.Told():
		k.ambient = Input{air.StandardPressure, ambientU}
		assume("No ambient pressure was told: 101.325 kPa ± 3 kPa is assumed.")
	}
	if !k.temp.Told() {
		k.temp = temperature(h)
		if k.temp.U == temperatureU {
			assume("No temperature was told and the gauge gives none: 20 °C ± 5 °C is assumed.")
		} else {
			assume("The temperature is the gauge's own: %.1f °C.", k.temp.Value-273.15)
		}
	}
	k.quantum = k.span * quantum(h)
	k.warmU, k.creepU = k.ambient.Value/k.temp.Value*warmingU, creepU
	if k.spanU < 0 {
		k.spanU = defaultSpanU
		assume("No calibration of the gauge is on record: its span is taken as good to 2 %% (the leak of a thin gap hardly depends on it).")
	}
	return k
}

// temperature is what the gauge itself says during the hold, else a room's.
func temperature(h *hold.Hold) Input {
	var sum, n float64
	for _, r := range h.Readings[h.Held.From:h.Held.To] {
		// A sensor that is not there says −127 or 85 °C, and no bench is so.
		if r.Status.Usable() && r.Celsius > -20 && r.Celsius < 60 {
			sum += r.Celsius
			n++
		}
	}
	if n == 0 {
		return Input{AssumedTemperature, temperatureU}
	}
	return Input{sum/n + 273.15, gaugeTemperatureU}
}
