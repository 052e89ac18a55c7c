package rig

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

const doingProof = "prove rig"

// useful is the largest relative standard uncertainty with which a comparison still
// says something of a rig.
const useful = 0.10

// Trial is a reference leak measured on a rigid bottle.
type Trial struct {
	Volume Measured `json:"volume_m3"` // enclosed, rig included
	Checked
	// OwnU is the relative standard uncertainty of the measured rate without what all
	// bottles share (span, certificate, temperature); 0 when it is not told.
	OwnU float64 `json:"own_u,omitempty"`
}

// Proof is a rig tried on bottles of several volumes.
type Proof struct {
	Trials []Trial  `json:"trials"`
	Passed bool     `json:"passed"`
	Says   []string `json:"says"` // sentences for people
}

// Prove asks whether a rig measures right at all: the same reference leak on at least
// three rigid bottles, the largest at least twice the smallest. It passes when each
// agrees with the certificate (|E_n| ≤ 1, ISO/IEC 17043) and is known well enough for
// that to mean something (10 %). Where the trials say what is their own, their
// deviations must agree among themselves too: a dead volume counted twice or not at all
// shows in the small bottle and not in the large one, which common doubts would hide.
func Prove(trials []Trial) (Proof, error) {
	if len(trials) < 3 {
		return Proof{}, &Refusal{doingProof, fmt.Sprintf("%d bottles, want three", len(trials)), "measure the reference leak on three volumes"}
	}
	sorted := slices.SortedStableFunc(slices.Values(trials), func(a, b Trial) int {
		return cmp.Compare(a.Volume.Value, b.Volume.Value)
	})
	for i, t := range sorted {
		if !t.Volume.sound() || t.Volume.Value <= 0 || !finite(t.En) {
			return Proof{}, &Refusal{doingProof, fmt.Sprintf("a bottle of %.3g ml", t.Volume.Value*1e6), "its volume must be above zero, its result a number"}
		}
		if i > 0 && t.Volume.Value < 1.1*sorted[i-1].Volume.Value {
			return Proof{}, &Refusal{doingProof, fmt.Sprintf("bottles of %.3g and %.3g ml are one volume", sorted[i-1].Volume.Value*1e6, t.Volume.Value*1e6), "use three clearly different volumes"}
		}
	}
	if small, large := sorted[0].Volume.Value, sorted[len(sorted)-1].Volume.Value; large < 2*small {
		return Proof{}, &Refusal{doingProof, fmt.Sprintf("volumes from %.3g to %.3g ml only", small*1e6, large*1e6), "the largest must be at least twice the smallest"}
	}
	p := Proof{Trials: sorted, Passed: true}
	for _, t := range sorted {
		p.judge(t)
	}
	p.among(sorted)
	if p.Passed {
		p.Says = append(p.Says, fmt.Sprintf("The rig is proven: it reads the reference leak right at %d volumes.", len(sorted)))
	}
	return p, nil
}

// judge adds what one bottle says.
func (p *Proof) judge(t Trial) {
	if math.Abs(t.En) > 1 {
		p.fail("At %.3g ml the rig reads %+.1f %% off, more than both uncertainties allow (En = %.2f).", t.Volume.Value*1e6, 100*t.Deviation.Value, t.En)
	}
	if t.Deviation.U > useful {
		p.fail("At %.3g ml the comparison is known to %.0f %% only: that proves nothing.", t.Volume.Value*1e6, 100*t.Deviation.U)
	}
}

// among compares the smallest with the largest bottle by what is their own.
func (p *Proof) among(sorted []Trial) {
	small, large := sorted[0], sorted[len(sorted)-1]
	if small.OwnU == 0 || large.OwnU == 0 {
		return
	}
	apart := small.Deviation.Value - large.Deviation.Value
	if math.Abs(apart) > 2*math.Hypot(small.OwnU, large.OwnU) {
		p.fail("Small and large bottle differ by %+.1f %%: some volume is counted twice or not at all.", 100*apart)
	}
}

func (p *Proof) fail(format string, args ...any) {
	p.Passed = false
	p.Says = append(p.Says, fmt.Sprintf(format, args...))
}

// worst is the largest |E_n| of the bottles.
func (p *Proof) worst() (en float64) {
	for _, t := range p.Trials {
		en = max(en, math.Abs(t.En))
	}
	return en
}
