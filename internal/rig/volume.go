package rig

import (
	"fmt"
	"math"
)

const doingVolume = "measure volume"

// Method says how a volume was found.
type Method string

// The methods, in falling order of trust.
const (
	BySyringe Method = "syringe step"
	ByLeak    Method = "added reference leak"
	ByBore    Method = "template's bore"
)

// Volume is what is enclosed in m³. Joint and rig are counted once: RigIncluded tells
// whether hose, gauge and dead volume are in it already, as they are in whatever was
// measured through the hose.
type Volume struct {
	Result
	Method      Method `json:"method"`
	RigIncluded bool   `json:"rig_included"`
}

// WithRig returns the volume with the rig's own added, if it is not in it already.
func (v Volume) WithRig(rig Measured) Volume {
	if v.RigIncluded {
		return v
	}
	r := propagate(sum, append(v.sources(), source{name: "volume of the rig", Measured: rig}))
	r.Doubts = v.Doubts
	return Volume{r, v.Method, true}
}

// WithoutRig returns the joint's own volume: what is enclosed less the rig. The two count
// as independent, which is on the safe side where one syringe measured both.
func (v Volume) WithoutRig(rig Measured) (Volume, error) {
	if !v.RigIncluded {
		return v, nil
	}
	if rig.Value >= v.Value {
		return Volume{}, &Refusal{doingVolume,
			fmt.Sprintf("the rig alone holds %.4g ml, rig and joint together %.4g ml", rig.Value*1e6, v.Value*1e6),
			"measure the rig's volume again"}
	}
	less := Measured{-rig.Value, rig.U}
	r := propagate(sum, append(v.sources(), source{name: "volume of the rig", Measured: less}))
	r.Doubts = v.Doubts
	return Volume{r, v.Method, false}, nil
}

// sources are the volume and the lines of its budget as inputs of a sum. Its degrees of
// freedom go with the largest line, which is where they nearly always come from.
func (v Volume) sources() []source {
	all := []source{{name: "value", Measured: Measured{v.Value, 0}}}
	for i, b := range v.Budget {
		s := source{name: b.Source, Measured: Measured{0, b.U}}
		if i == 0 && v.Dof > 0 {
			s.dof = v.Dof * math.Pow(b.U/v.U, 4)
		}
		all = append(all, s)
	}
	return all
}

// accept refuses a volume that cannot be or that is not known well enough to be worth
// having, with what would help, and says what makes it doubtful.
func (v Volume) accept(help string) (Volume, error) {
	const useless, poor = 0.15, 0.05
	switch rel := v.Relative(); {
	case !finite(v.Value) || v.Value <= 0:
		return Volume{}, &Refusal{doingVolume, fmt.Sprintf("the volume comes out at %.4g ml", v.Value*1e6), "check the signs of step and pressures, and the ambient pressure"}
	case !(rel <= useless): // an uncertainty that is no number included
		return Volume{}, &Refusal{doingVolume, fmt.Sprintf("the volume of %.3g ml would be known to %.2g %% only", v.Value*1e6, 100*rel), help}
	case rel > poor:
		v.Doubts = append(v.Doubts, fmt.Sprintf("The volume is known to %.2g %% only, most of it for %s.", 100*rel, v.Budget[0].Source))
	}
	return v, nil
}
