package guided

import (
	"fmt"
	"math"

	"boretight/internal/air"
	"boretight/internal/hold"
	"boretight/internal/rig"
)

// Reference is a reference leak and the rig that it is measured with.
type Reference struct {
	Leak rig.Certificate
	Dead rig.Measured // of leak and fitting, m³
	// Blanks are those of the rig that hold now, at most one of each sign.
	Blanks []rig.Blank
	// Says is what there is to say of the blank of a sign, such as that it is due soon.
	Says map[air.Sign]string
}

// referenced leads through holds of a reference leak on bodies of known volume.
type referenced struct {
	staged
	reference Reference
	bodies    []rig.Measured // of each stage: what the leak sits on beside the rig, m³
}

// bottleBore stands for the bore of a bottle where none is told: that of a cylinder
// twice as high as it is wide, give or take (common practice, no source). Heat in a
// bottle taken for a joint's bore would look like a leak that changes.
func bottleBore(volume float64) rig.Measured {
	const spread = 0.25
	diameter := 2 * math.Cbrt(volume/(4*math.Pi))
	return rig.Measured{Value: diameter, U: spread * diameter}
}

// Next implements [Procedure].
func (r *referenced) Next() string {
	defer r.fitBore()()
	return r.staged.Next()
}

// fitBore tells, unless that was done, the bore of the body whose turn it is, until the
// function that it returns is called.
func (r *referenced) fitBore() (undo func()) {
	told := r.told.Bore
	stage := min(len(r.holds)/r.each, len(r.bodies)-1)
	if body := r.bodies[stage].Value; body > 0 {
		r.told.Bore = r.told.boreOr(bottleBore(body))
	} else {
		r.told.Bore = r.told.rigBore()
	}
	return func() { r.told.Bore = told }
}

// blank returns that of a sign.
func (r Reference) blank(sign air.Sign) (rig.Blank, bool) {
	for _, b := range r.Blanks {
		if b.Sign == sign {
			return b, true
		}
	}
	return rig.Blank{}, false
}

// Held implements [Procedure].
func (r *referenced) Held(id string, h *hold.Hold) Reply {
	if !r.Done() && h.Isolated() {
		if _, ok := r.reference.blank(signOf(h)); !ok {
			return refused("this hold does not count: it was in %s, and no blank of this rig in %s is on record; take one with boretight rig blank, or measure with the other sign", h.Sign, h.Sign)
		}
	}
	defer r.fitBore()()
	return r.staged.Held(id, h)
}

// compared is a reference leak on one body against its certificate.
type compared struct {
	checked rig.Checked
	volume  rig.Measured
	ownU    float64
	notes   []string
}

// compare measures the leak of one stage.
func (r *referenced) compare(stage int) (compared, error) {
	m, err := r.stage(stage)
	if err != nil {
		return compared{}, err
	}
	blank, ok := r.reference.blank(r.sign)
	if !ok {
		return compared{}, &rig.Refusal{Doing: "measure reference leak", Found: fmt.Sprintf("no blank of this rig in %s is on record", r.sign), Hint: "take one with boretight rig blank"}
	}
	background, err := blank.Background(r.sign, r.told.at())
	if err != nil {
		return compared{}, err
	}
	stated, err := r.reference.Leak.Here(r.told.room(r.sign, m.temperature))
	if err != nil {
		return compared{}, err
	}
	enclosed := rig.Enclosed{Body: r.bodies[stage], Rig: blank.Volume, Dead: r.reference.Dead}
	q := rig.LeakageRate(m.rate, enclosed, background)
	checked, err := rig.Check(q.Standard(), stated.Standard())
	if err != nil {
		return compared{}, err
	}
	checked.RepeatU = m.rate.Own * enclosed.Volume().Value / stated.Value
	c := compared{checked: checked, volume: enclosed.Volume(), ownU: rig.OwnU(q)}
	together := rig.Measured{Value: q.Value + background.Value, U: q.Standard().U}
	c.notes = append(append(m.doubts, stated.Doubts...), blank.Doubts(together, r.told.Rig)...)
	if says := r.reference.Says[r.sign]; says != "" {
		c.notes = append(c.notes, says)
	}
	return c, nil
}

// temperature is the mean of the holds' gas, K.
func (r *referenced) temperature() (mean float64) {
	for _, h := range r.holds {
		mean += h.temperature / float64(len(r.holds))
	}
	return mean
}
