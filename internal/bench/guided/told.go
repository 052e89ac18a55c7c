package guided

import (
	"math"

	"boretight/internal/air"
	"boretight/internal/decay"
	"boretight/internal/rig"
)

// Told is what a procedure is told of the rig and the room. A zero Measured was not told.
type Told struct {
	Rig rig.Identity
	// Joint is the joint and closure that a volume is of.
	Joint string
	// At is the stated pressure difference in Pa; 0 means that of decay.
	At float64
	// Bore is the mean inner diameter in m, Ambient the station pressure in Pa,
	// Temperature that of the room in K.
	Bore, Ambient, Temperature rig.Measured
	// Calibration of the gauge that holds now; nil when there is none.
	Calibration *rig.Calibration
	// OnCalibration is a sentence on the one on record, such as that it is overdue and does
	// not hold; empty when there is nothing to say, or none.
	OnCalibration string
}

// span returns by what a difference of two readings must be multiplied, and how well
// that is known.
func (t Told) span() rig.Measured {
	if t.Calibration == nil {
		return rig.Measured{Value: 1, U: decay.AssumedSpanU}
	}
	return rig.Measured{Value: t.Calibration.SpanFactor(), U: t.Calibration.SpanU()}
}

// at returns the stated pressure difference in Pa.
func (t Told) at() float64 {
	if t.At == 0 {
		return decay.DefaultAt
	}
	return t.At
}

// Fit returns what the fit of a hold is told: no volume, so that its doubt stays out.
func (t Told) Fit() decay.Setup {
	input := func(m rig.Measured) decay.Input { return decay.Input{Value: m.Value, U: m.U} }
	span := t.span()
	return decay.Setup{
		Bore: input(t.Bore), Ambient: input(t.Ambient), Temperature: input(t.Temperature),
		At: t.at(), Span: span.Value, SpanU: span.U,
	}
}

// ambient returns the pressure of the room in Pa.
func (t Told) ambient() rig.Measured {
	if t.Ambient.Value == 0 {
		return rig.Measured{Value: air.StandardPressure, U: decay.AssumedAmbientU}
	}
	return t.Ambient
}

// temperature returns that of the room in K: what was told, else what the fit of a hold
// took, which is the gauge's where it has a thermometer.
func (t Told) temperature(fitted float64) rig.Measured {
	switch {
	case t.Temperature.Value != 0:
		return t.Temperature
	case fitted == 0 || fitted == decay.AssumedTemperature:
		return rig.Measured{Value: decay.AssumedTemperature, U: decay.AssumedTemperatureU}
	}
	return rig.Measured{Value: fitted, U: decay.GaugeTemperatureU}
}

// room returns the conditions of a hold.
func (t Told) room(sign air.Sign, fitted float64) rig.Room {
	return rig.Room{Sign: sign, Difference: t.at(), Ambient: t.ambient(), Temperature: t.temperature(fitted)}
}

// notes says what was assumed for want of being told; fitted is 0 where the temperature
// hardly matters.
func (t Told) notes(fitted float64) []string {
	var notes []string
	switch {
	case t.OnCalibration != "":
		notes = append(notes, t.OnCalibration)
	case t.Calibration == nil:
		notes = append(notes, "No calibration of the gauge is on record: its span was taken as good to 2 %.")
	}
	if t.Ambient.Value == 0 {
		notes = append(notes, "No ambient pressure was told: 101.325 kPa ± 3 kPa was assumed. Read a barometer here (not reduced to sea level) and tell --ambient: a volume by a syringe is no better known than the room's pressure.")
	}
	if fitted != 0 && t.temperature(fitted).U == decay.AssumedTemperatureU {
		notes = append(notes, "No temperature was told and the gauge gives none: 20 °C ± 5 °C was assumed.")
	}
	return notes
}

// boreOr returns the bore told or, for the heat's sake, another.
func (t Told) boreOr(other rig.Measured) rig.Measured {
	if t.Bore.Value == 0 {
		return other
	}
	return t.Bore
}

// settle returns how long the heat takes after a step, in s.
func (t Told) settle(bore rig.Measured) float64 {
	return rig.SettleTime(bore, t.ambient().Value, math.Max(t.temperature(0).Value, 1))
}

// atCertificate returns t with rates stated at a certificate's difference, unless another
// was told or a rig had better not be taken there; see the warning above 6 kPa.
func (t Told) atCertificate(c rig.Certificate) Told {
	const least, most = 500, 5000 // Pa
	if t.At == 0 && c.At.Difference >= least && c.At.Difference <= most {
		t.At = c.At.Difference
	}
	return t
}
