package guided

import (
	"errors"
	"fmt"

	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// Volume leads through steps of a syringe on a joint.
type Volume struct {
	series
	steps steps
	want  int
	ids   [][]string // of each step's holds
}

// NewVolume returns the procedure of a number of steps.
func NewVolume(t Told, s Syringe, number int) (*Volume, error) {
	switch {
	case t.Joint == "":
		return nil, errors.New("lead a volume: the joint is not told")
	case number < 1:
		return nil, fmt.Errorf("lead a volume: %d steps: want at least 1, or better 3", number)
	case !(s.Step.Value > 0):
		return nil, errors.New("lead a volume: tell by how much the syringe's plunger is moved")
	case s.StaysOpen && s.Dead.Value > 0:
		return nil, errors.New("lead a volume: the syringe either stays open in holds or is shut off with its dead volume")
	}
	return &Volume{series: series{told: t}, steps: steps{syringe: s, bore: t.Bore}, want: number}, nil
}

// Next implements [Procedure].
func (v *Volume) Next() string {
	if v.Done() {
		return "Volume: complete."
	}
	return fmt.Sprintf("Volume of %s, %s: joint plugged and closed, %s", v.told.Joint, count("step", len(v.ids)+1, v.want), v.steps.syringe.next(v.told, v.steps.bore, v.sign))
}

// Moment says when to move the plunger.
func (v *Volume) Moment() Moment { return v.steps.syringe.moment(v.told, v.steps.bore, v.sign) }

// Held implements [Procedure].
func (v *Volume) Held(id string, h *hold.Hold) Reply {
	if v.Done() {
		return Reply{}
	}
	step, no := v.steps.take(&v.series, id, h)
	if step == nil {
		return no
	}
	v.steps.keep(step)
	v.sign = signOf(h)
	v.ids = append(v.ids, step.ids)
	return accepted("%s counts: %s", count("step", len(v.ids), v.want), step.say(v.steps.syringe)+step.astray(v.steps.syringe, v.told.at()))
}

// Line implements [Procedure].
func (v *Volume) Line(text string, _ []trace.Reading) Reply { return orders(text, v.back) }

// InputEnded implements [Procedure].
func (v *Volume) InputEnded() {}

// Done implements [Procedure].
func (v *Volume) Done() bool { return len(v.ids) >= v.want }

func (v *Volume) back() (string, bool) {
	n := len(v.ids)
	if n == 0 {
		return "", false
	}
	v.steps.back()
	v.ids = v.ids[:n-1]
	if n == 1 {
		v.sign = 0
	}
	return fmt.Sprintf("step %d", n), true
}

// Record implements [Procedure].
func (v *Volume) Record() (rig.Record, error) {
	volume, err := rig.MeanVolume(v.steps.volumes)
	if err != nil {
		return rig.Record{}, err
	}
	r := rig.Record{Kind: rig.KindVolume, Rig: v.told.Rig, Joint: v.told.Joint, Notes: append(v.told.notes(0), volume.Doubts...), Volume: &volume}
	for _, ids := range v.ids {
		r.Holds = append(r.Holds, ids...)
	}
	return r, nil
}
