package guided

import (
	"errors"
	"fmt"

	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// A rig is a hose with a gauge, a valve and stoppers, so that the bore which its heat sees
// is wider than that of the hose, by rigWider or so, and known to rigSpread of itself.
// Hoses are 2 to 6 mm wide, usualHose is for want of being told (common practice, no
// source). With a bore of 3 mm told and taken for that of all the rig, however widely,
// holds of a hose of that bore looked disturbed and were refused.
const rigWider, rigSpread, usualHose = 1.5, 0.3, 4e-3 // the last in m

// rigBore returns the heat diameter of the rig alone in m. One that was told with its
// uncertainty counts as it is.
func (t Told) rigBore() rig.Measured {
	if t.Bore.U > 0 {
		return t.Bore
	}
	bore := t.boreOr(rig.Measured{Value: usualHose})
	bore.Value *= rigWider
	bore.U = rigSpread * bore.Value
	return bore
}

// Blank leads through holds of the rig alone, its stoppers joined. The rig's volume is
// told, or a syringe's plunger is moved in each hold.
type Blank struct {
	staged
	volume rig.Measured // told; zero if a syringe measures it
	steps  steps
}

// NewBlank returns the procedure of a number of holds. Either the rig's volume is told
// or a syringe.
func NewBlank(t Told, holds int, volume rig.Measured, s Syringe) (*Blank, error) {
	switch {
	case holds < 1:
		return nil, fmt.Errorf("lead a blank: %d holds: want at least 1", holds)
	case (volume.Value > 0) == (s.Step.Value > 0):
		return nil, errors.New("lead a blank: tell either the rig's volume or a syringe's step")
	}
	t.Bore = t.rigBore()
	return &Blank{
		staged: staged{series: series{told: t}, title: "Blank", stages: []string{"stoppers joined"}, each: holds},
		volume: volume,
		steps:  steps{syringe: s, bore: t.Bore},
	}, nil
}

// bySyringe reports whether a syringe measures the rig's volume.
func (b *Blank) bySyringe() bool { return b.steps.syringe.Step.Value > 0 }

// Next implements [Procedure].
func (b *Blank) Next() string {
	if b.Done() || !b.bySyringe() {
		return b.staged.Next()
	}
	return fmt.Sprintf("Blank, %s: stoppers joined, %s", count("hold", len(b.holds)+1, b.want()), b.steps.syringe.next(b.told, b.steps.bore, b.sign))
}

// Moment says when to move the plunger; never, where there is none.
func (b *Blank) Moment() Moment {
	if !b.bySyringe() {
		return Moment{}
	}
	return b.steps.syringe.moment(b.told, b.steps.bore, b.sign)
}

// Held implements [Procedure].
func (b *Blank) Held(id string, h *hold.Hold) Reply {
	if b.Done() {
		return Reply{}
	}
	if !b.bySyringe() {
		return b.plain(id, h)
	}
	step, no := b.steps.take(&b.series, id, h)
	if step == nil {
		return no
	}
	astray := step.astray(b.steps.syringe, b.told.at())
	r, no := b.rate(id, step.still())
	if no.Text != "" {
		no.Text += astray
		return no
	}
	r.ids = step.ids
	r.rate = step.without(b.steps.syringe, r.rate)
	b.steps.keep(step)
	reply := b.count(r, step.say(b.steps.syringe)+"; ")
	reply.Text += astray + doubted(r.rate, step.volume.Value)
	return reply
}

// plain takes a hold in which no plunger moved.
func (b *Blank) plain(id string, h *hold.Hold) Reply {
	r, no := b.rate(id, h)
	if no.Text != "" {
		return no
	}
	reply := b.count(r, "")
	reply.Text += doubted(r.rate, b.volume.Value)
	return reply
}

// doubted asks at once about a rig that leaks much, while the person can mend it.
func doubted(r rig.Rate, volume float64) string {
	if doubt := rig.DoubtBlank(r.Value * volume); doubt != "" {
		return ". BUT: " + doubt
	}
	return ""
}

// Line implements [Procedure].
func (b *Blank) Line(text string, _ []trace.Reading) Reply {
	return orders(text, func() (string, bool) {
		b.steps.back()
		return b.back()
	})
}

// Record implements [Procedure].
func (b *Blank) Record() (rig.Record, error) {
	m, err := b.stage(0)
	if err != nil {
		return rig.Record{}, err
	}
	volume := b.volume
	notes := append(b.told.notes(m.temperature), m.doubts...)
	if b.bySyringe() {
		v, err := rig.MeanVolume(b.steps.volumes)
		if err != nil {
			return rig.Record{}, err
		}
		volume = v.Standard()
		notes = append(notes, v.Doubts...)
	}
	blank, err := rig.NewBlank(b.told.Rig, b.sign, b.told.at(), m.rate, volume)
	if err != nil {
		return rig.Record{}, err
	}
	if doubt := rig.DoubtBlank(blank.LeakRate.Value); doubt != "" {
		notes = append(notes, doubt)
	}
	return rig.Record{Kind: rig.KindBlank, Rig: b.told.Rig, Holds: b.ids(), Notes: notes, Blank: &blank}, nil
}
