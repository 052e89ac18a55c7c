package rig

import (
	"fmt"
	"math"
)

const doingCheck = "check rig"

// Checked is a reference leak measured against its certificate.
type Checked struct {
	Measured Measured `json:"measured_pa_m3_s"`
	Stated   Measured `json:"stated_pa_m3_s"` // scaled to the conditions of the check
	// Deviation is measured over stated less 1, with the uncertainty of both.
	Deviation Measured `json:"deviation"`
	// RepeatU is what of the deviation's uncertainty is new in each check, such as noise; 0
	// when that is not told.
	RepeatU float64 `json:"repeat_u,omitempty"`
	// En is the normalised error; see [NormalisedError].
	En float64 `json:"en"`
}

// Check compares a measured leakage rate with what the certificate states at the same
// conditions (see [Certificate.Here]), both in Pa·m³/s.
func Check(measured, stated Measured) (Checked, error) {
	if !measured.sound() || !stated.sound() || stated.Value <= 0 {
		return Checked{}, &Refusal{doingCheck, fmt.Sprintf("measured %.4g, stated %.4g Pa·m³/s", measured.Value, stated.Value), "the stated value must be above zero, and both must be numbers"}
	}
	if measured.U == 0 && stated.U == 0 {
		return Checked{}, &Refusal{doingCheck, "neither side states an uncertainty", "nothing can be consistent within nothing"}
	}
	ratio := measured.Value / stated.Value
	return Checked{
		Measured: measured, Stated: stated,
		Deviation: Measured{ratio - 1, math.Hypot(measured.U/stated.Value, ratio*stated.U/stated.Value)},
		En:        NormalisedError(measured, stated),
	}, nil
}

// NormalisedError is E_n = (x − X)/√(U² + U_ref²) with expanded uncertainties U = 2u
// (ISO/IEC 17043:2010, B.3.1.3 e; ISO 13528:2015, 9.7). Up to 1 in size the two agree.
func NormalisedError(x, reference Measured) float64 {
	return (x.Value - reference.Value) / (2 * math.Hypot(x.U, reference.U))
}
