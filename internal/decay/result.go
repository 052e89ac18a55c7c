package decay

import (
	"math"

	"boretight/internal/hold"
)

// Input is a value told to the fit with its standard uncertainty, both in SI units.
type Input struct{ Value, U float64 }

// Told reports whether the input was given at all.
func (in Input) Told() bool { return in.Value != 0 }

// Setup is what is told of the joint and the room, beside the readings. The zero
// value of each field means "not told": the fit then takes the default named here
// and says so in its notes.
type Setup struct {
	// Volume is everything enclosed in the hold, in m³. Not told: no leakage rate,
	// only the pressure rate and the time constant.
	Volume Input
	// Bore is the mean inner diameter in m. Not told: a wide prior.
	Bore Input
	// Ambient is the station pressure in Pa. Not told: 101 325 ± 3 000, or the rest of an absolute gauge.
	Ambient Input
	// Temperature of room and wall in K. Not told: the gauge's, else 293.15 ± 5.
	Temperature Input
	// At is the stated test pressure difference in Pa; 0 means 2500.
	At float64
	// Span is what a difference of two readings must be multiplied by to be true, from
	// a calibration; 0, not told, is 1. Readings at rest are taken as they are.
	Span float64
	// SpanU is the gauge's relative standard uncertainty of span; negative means
	// not told, which is 0.02. Zero is a perfect gauge.
	SpanU float64
	// Rig is the rig's own leakage rate in Pa·m³/s at At, subtracted with its uncertainty.
	Rig Input
}

// Estimate is a value with its standard uncertainty and its central 95 % interval.
type Estimate struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// Contribution is one line of the budget (JCGM 100, 5.1.2): what one source of
// doubt alone contributes to the standard uncertainty of the leakage rate.
type Contribution struct {
	// Source in a word or two: "volume", "noise", "zero", …
	Source string `json:"source"`
	// URelative is the contribution divided by the leakage rate (or by the
	// pressure rate when there is no volume).
	URelative float64 `json:"u_relative"`
	// U is the contribution itself, in Pa·m³/s (or Pa/s when there is no volume).
	U float64 `json:"u"`
}

// Status says why a fit stopped.
type Status uint8

const (
	// Converged: the fit settled.
	Converged Status = iota
	// NoFit: the fit ran off or did not settle, or what was left undisturbed is too
	// short; there are no figures.
	NoFit
	// Refused: the hold cannot give a result at all; the notes say why.
	Refused
)

// Point is one point of a fitted curve.
type Point struct {
	// T in seconds on the stream's clock.
	T float64 `json:"t"`
	// Pressure in Pa as the gauge would show it, zero included.
	Pressure float64 `json:"p"`
	// U is the standard uncertainty of the curve at this point, in Pa.
	U float64 `json:"u"`
}

// Result is what one hold says.
type Result struct {
	Status Status
	// At is the stated Δp in Pa, Sign that of the hold.
	At   float64
	Sign hold.Sign
	// LeakRate in Pa·m³/s; nil when none can be given, and Notes says why.
	LeakRate *Estimate
	// Temperature is that of the gas in K, as told or assumed.
	Temperature float64
	// SCCM is the same in cm³/min at 0 °C and 101.325 kPa.
	SCCM *Estimate
	// PressureRate is the isothermal rate of pressure at At, in Pa/s; nil as LeakRate.
	PressureRate *Estimate
	// TimeConstant is At divided by the pressure rate, in s; nil when the rate is not clearly above 0.
	TimeConstant *Estimate
	// InertialShare is s of the gap law at At; nil as LeakRate.
	InertialShare *Estimate
	// Zero is the gauge's reading at no difference, at isolation, in Pa (of an absolute gauge: the ambient).
	Zero Estimate
	// DeltaStart and DeltaEnd are Δp in Pa at the two ends of the stretch used.
	DeltaStart, DeltaEnd float64
	// Used is the stretch of readings that the result rests on; Readings how many of them counted.
	Used     hold.Span
	Readings int
	// Disturbed tells that the hold was cut short or is in doubt; Notes says by what.
	Disturbed bool
	// Budget, largest first.
	Budget []Contribution
	// Curve is the fitted curve over the stretch used and somewhat beyond.
	Curve []Point
	// Notes are whole sentences for people about this hold: reasons and doubts.
	Notes []string
	// Assumed are sentences about what was not told, and what was taken instead.
	Assumed []string
	// Dof are the effective degrees of freedom of LeakRate's uncertainty; +Inf when well known.
	Dof float64
	// Method names the version of the method, so that a stored result can be repeated.
	Method string
}

// Method is the version of the estimator in this program.
const Method = "decay/1"

// DefaultAt is the stated test pressure difference in Pa when none is told.
const DefaultAt = 2500

// Relative returns U as a share of the value's size; +Inf at value 0.
func (e Estimate) Relative() float64 {
	if e.Value == 0 {
		return math.Inf(1)
	}
	return math.Abs(e.U / e.Value)
}
