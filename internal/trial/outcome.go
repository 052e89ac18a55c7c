package trial

import (
	"slices"

	"boretight/internal/decay"
	"boretight/internal/hold"
)

// Verdict is a statement of conformity.
type Verdict string

// The verdicts of ISO/IEC 17025 7.8.6 and JCGM 106; None when no limit was asked.
const (
	None         Verdict = ""
	Pass         Verdict = "pass"
	Fail         Verdict = "fail"
	Inconclusive Verdict = "inconclusive"
)

// Schemas of the objects printed.
const (
	SchemaFit   = "boretight/fit/1"
	SchemaHold  = "boretight/hold/1"
	SchemaTrial = "boretight/trial/1"
)

// LeakRate is an interval of throughput, with its unit.
type LeakRate struct {
	Unit string `json:"unit"` // always "Pa·m³/s"
	decay.Estimate
	Coverage float64 `json:"coverage"` // 0.95
}

// Value is a value with its standard uncertainty only.
type Value struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

// Extent is the held stretch that the result rests on, on the trace's clock.
type Extent struct {
	Start float64 `json:"start_s"`
	End   float64 `json:"end_s"`
	// Held is how long the joint was held in all, used or not, in seconds; 0 in results
	// of before it was kept.
	Held       float64 `json:"held_s"`
	DeltaStart float64 `json:"delta_start_pa"`
	DeltaEnd   float64 `json:"delta_end_pa"`
	Readings   int     `json:"readings"`
	Lost       int     `json:"lost"`
	Ending     string  `json:"ending"`
}

// Decision is the limit, the rule and the probability of conformity.
type Decision struct {
	LimitSCCM float64 `json:"limit_sccm"`
	Limit     float64 `json:"limit_pa_m3_s"`
	Rule      string  `json:"rule"`
	PConform  float64 `json:"p_conform"`
	// From says where the limit came from, in words: told for the measurement, or the
	// shop's.
	From string `json:"limit_from,omitempty"`
	// Next says what would settle an inconclusive verdict.
	Next string `json:"next,omitempty"`
	// Wait is how many seconds more of a hold under way would decide if the leakage rate
	// stays where it is, rounded up; 0 when it is decided, over, or not to be expected.
	Wait float64 `json:"wait_s,omitempty"`
	// Withheld says why the rig may judge nothing, so that a pass or a fail was taken back;
	// mostly empty. PConform stays what it was.
	Withheld string `json:"withheld,omitempty"`
}

// Outcome is one hold judged. Its JSON form is the contract of the fit and hold
// commands and what the ledger keeps as a hold's result.
type Outcome struct {
	Schema        string               `json:"schema"`
	ID            string               `json:"id,omitempty"`
	Gauge         string               `json:"gauge,omitempty"`
	File          string               `json:"file,omitempty"`
	Sign          string               `json:"sign,omitempty"`
	At            float64              `json:"at_pa"`
	LeakRate      *LeakRate            `json:"leak_rate"`
	SCCM          *decay.Estimate      `json:"leak_rate_sccm"`
	PressureRate  *Value               `json:"pressure_rate_pa_s,omitempty"`
	TimeConstant  *Value               `json:"time_constant_s"`
	InertialShare *Value               `json:"inertial_share"`
	Hold          *Extent              `json:"hold"`
	Zero          *Value               `json:"zero_pa"`
	Disturbed     bool                 `json:"disturbed"`
	Verdict       Verdict              `json:"verdict,omitempty"`
	Decision      *Decision            `json:"decision,omitempty"`
	Budget        []decay.Contribution `json:"budget"`
	Notes         []string             `json:"notes"`
	// Pressing is how many of Notes, the first ones, are about this hold itself and must
	// stand beside its verdict; the others say what was assumed.
	Pressing int    `json:"pressing,omitempty"`
	Method   string `json:"method"`
	// RigRecords are the identities of what was known of the rig and used.
	RigRecords []string `json:"rig_records,omitempty"`

	// Curve is for plots; it is not part of the printed object. Nor are Dof, the
	// degrees of freedom of the leakage rate, Temperature, that of the gas in K, and Parts,
	// where the hold lies in its readings.
	Curve       []decay.Point `json:"-"`
	Dof         float64       `json:"-"`
	Temperature float64       `json:"-"`
	Parts       *hold.Parts   `json:"-"`
}

// Press notes what must stand beside the verdict, before all noted so far.
func (o *Outcome) Press(notes ...string) {
	o.Notes = slices.Insert(o.Notes, 0, notes...)
	o.Pressing += len(notes)
}

// CutShort reports whether a disturbance ended the stretch that the result rests on
// while the joint was still held, and after how many seconds.
func (o Outcome) CutShort() (after float64, cut bool) {
	if !o.Disturbed || o.Hold == nil {
		return 0, false
	}
	after = o.Hold.End - o.Hold.Start
	return after, o.Hold.Held-after > cutMargin
}

// cutMargin in s: a fit leaves out the last moment before a vent of its own accord.
const cutMargin = 0.5

// Limit is the largest leakage rate that passes, in Pa·m³/s at the stated Δp; 0 means none.
type Limit float64

// Trial is several holds of one joint in one closure combined into one result.
type Trial struct {
	Schema   string          `json:"schema"`
	Holds    int             `json:"holds"`
	Used     int             `json:"used"`
	ID       string          `json:"id,omitempty"`
	Joint    string          `json:"joint,omitempty"`
	Closure  string          `json:"closure,omitempty"`
	Rig      string          `json:"rig,omitempty"`
	Sign     string          `json:"sign,omitempty"`
	At       float64         `json:"at_pa,omitempty"`
	LeakRate *LeakRate       `json:"leak_rate"`
	SCCM     *decay.Estimate `json:"leak_rate_sccm"`
	// Dof are the effective degrees of freedom of the leakage rate; 0 means that there
	// are so many that they do not matter.
	Dof      float64   `json:"dof,omitempty"`
	Verdict  Verdict   `json:"verdict,omitempty"`
	Decision *Decision `json:"decision,omitempty"`
	// Budget of the combined leakage rate, largest first.
	Budget []Line `json:"budget,omitempty"`
	// Repeatability seen in this trial alone, for later ones; nil from one hold.
	Repeatability *Repeatability `json:"repeatability,omitempty"`
	// Outliers are holds that lie far from the others. They count all the same.
	Outliers []Outlier `json:"outliers,omitempty"`
	Notes    []string  `json:"notes"`
}
