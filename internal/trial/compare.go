package trial

import (
	"errors"
	"fmt"

	"boretight/internal/decay"
)

// SchemaCompare is the schema of a [Comparison].
const SchemaCompare = "boretight/compare/1"

// ErrNoRate is returned when one of the two sides gave no leakage rate.
var ErrNoRate = errors.New("no leakage rate to compare")

// Common tells which errors are the same as found and as left, and so cancel in their
// ratio. The zero value, nothing, is right for two rigs, and safe.
type Common struct {
	Volume bool `json:"volume"` // told once, and the joint and rig hold the same air
	Gauge  bool `json:"gauge"`  // the same gauge in the same calibration
	Rig    bool `json:"rig"`    // the same blank was subtracted
	Bore   bool `json:"bore"`   // the same joint and the same told bore: heat
}

// SameBench is what is common to two trials of a joint on one rig within one day,
// the volume being told once.
func SameBench() Common { return Common{Volume: true, Gauge: true, Rig: true, Bore: true} }

// has reports whether the error of a source is common. Noise, zero and drift are new
// in each trial; so are law and creep, since the work has changed leaks and pads.
func (c Common) has(source string) bool {
	switch source {
	case sourceVolume:
		return c.Volume
	case sourceSpan:
		return c.Gauge
	case sourceRig:
		return c.Rig
	case sourceHeat:
		return c.Bore
	}
	return false
}

// Ratio is as found over as left: how many times tighter the joint is. Its interval
// is open above when as left may be nothing.
type Ratio struct {
	// Value is nil when as left is not clearly above 0.
	Value *float64 `json:"value"`
	// Low and High are the central 95 % interval; High is nil when it is open. Then Low
	// is the bound of the one-sided interval, also of 95 %.
	Low      float64  `json:"low"`
	High     *float64 `json:"high"`
	Coverage float64  `json:"coverage"`
}

// Comparison is a joint as found against as left.
type Comparison struct {
	Schema string  `json:"schema"`
	Joint  string  `json:"joint,omitempty"`
	Sign   string  `json:"sign"`
	At     float64 `json:"at_pa"`
	// Found and Left are leakage rates in Pa·m³/s at At.
	Found LeakRate `json:"as_found"`
	Left  LeakRate `json:"as_left"`
	// Ratio is as found over as left; nil when as found is not clearly above 0.
	Ratio *Ratio `json:"ratio"`
	// Difference is as found less as left, in Pa·m³/s.
	Difference LeakRate `json:"difference"`
	// DifferenceSCCM restates it; nil where either side is not known in sccm.
	DifferenceSCCM *decay.Estimate `json:"difference_sccm,omitempty"`
	// Common is what cancelled.
	Common Common `json:"common"`
	// Sentence says it for people.
	Sentence string   `json:"sentence"`
	Notes    []string `json:"notes"`
}

// Compare sets a joint as found against as left. Errors that the two share cancel:
// wholly in the ratio where they are of a multiplier, such as the volume, wholly in
// the difference where they are of an addend, such as the rig's own leak.
//
// It returns [ErrNoRate] when a side has no leakage rate, and [ErrUnlike] when they
// differ in joint, closure, sign or stated pressure difference.
func Compare(found, left Trial, common Common) (Comparison, error) {
	switch {
	case found.LeakRate == nil:
		return Comparison{}, fmt.Errorf("compare as found with as left: as found: %w; its notes say why, and without it there is no comparison", ErrNoRate)
	case left.LeakRate == nil:
		return Comparison{}, fmt.Errorf("compare as found with as left: as left: %w; measure it again", ErrNoRate)
	}
	if err := sameSubject(found, left); err != nil {
		return Comparison{}, err
	}
	c := Comparison{
		Schema: SchemaCompare, Joint: found.Joint, Sign: found.Sign, At: found.At,
		Found: *found.LeakRate, Left: *left.LeakRate, Common: common, Notes: []string{},
	}
	p := pairOf(found, left, common)
	c.Difference = LeakRate{Unit: "Pa·m³/s", Estimate: p.difference(), Coverage: coverage}
	if found.SCCM != nil && left.SCCM != nil {
		c.DifferenceSCCM = sccm([]Outcome{{LeakRate: found.LeakRate, SCCM: found.SCCM}, {LeakRate: left.LeakRate, SCCM: left.SCCM}}, c.Difference.Estimate)
	}
	c.Ratio = p.ratio()
	c.remark(left)
	c.Sentence = c.sentence(found.SCCM, left.SCCM)
	return c, nil
}

func sameSubject(found, left Trial) error {
	for _, a := range []struct{ name, found, left string }{
		{"joint", told(found.Joint), told(left.Joint)},
		{"closure", told(found.Closure), told(left.Closure)},
		{"sign", told(found.Sign), told(left.Sign)},
		{"stated pressure difference", fmt.Sprintf("%.6g Pa", found.At), fmt.Sprintf("%.6g Pa", left.At)},
	} {
		if a.found != a.left {
			return fmt.Errorf("compare as found with as left: %w: the %s differs: %s as found, %s as left; measure both alike",
				ErrUnlike, a.name, a.found, a.left)
		}
	}
	return nil
}

func (c *Comparison) remark(left Trial) {
	if left.LeakRate.High < 0 {
		c.Notes = append(c.Notes, "As left, the leakage rate lies below nothing by more than its uncertainty: look at the rig's own leak and at drifts; it was taken as nothing.")
	}
	if c.Common == (Common{}) {
		c.Notes = append(c.Notes, "Nothing was common to the two measurements, so no error cancels.")
	}
}
