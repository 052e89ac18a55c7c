package guided

import (
	"errors"
	"fmt"

	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// hoseBore stands for the rig's own bore where none is told: hoses are 2 to 6 mm wide
// (common practice, no source).
var hoseBore = rig.Measured{Value: 4e-3, U: 1.2e-3} // m

// Blank leads through holds of the rig alone, its stoppers joined. The rig's volume is
// told, or a syringe's plunger is moved in each hold.
type Blank struct {
	series
	orders
	want    int
	volume  rig.Measured // told; zero if a syringe measures it
	syringe Syringe
	cycle   cycle
	holds   []rated
	volumes []rig.Volume
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
	b := &Blank{series: series{told: t}, want: holds, volume: volume, syringe: s}
	b.orders.back = b.back
	return b, nil
}

// Next implements [Procedure].
func (b *Blank) Next() string {
	switch {
	case b.Done():
		return "The blank is complete."
	case b.syringe.Step.Value > 0:
		return fmt.Sprintf("%s: stoppers joined, draw to a quarter of %.3g kPa, shut the valve, keep still for 8 s, pull the plunger out by %.4g ml, keep still for 10 s, vent.",
			b.counted(), b.told.at()/1e3, b.syringe.Step.Value*1e6)
	}
	return fmt.Sprintf("%s: stoppers joined, draw to a little over %.3g kPa, shut the valve, keep still for 10 s or more, vent.", b.counted(), b.told.at()/1e3)
}

func (b *Blank) counted() string { return "Blank, " + count("hold", len(b.holds)+1, b.want) }

// Held implements [Procedure].
func (b *Blank) Held(id string, h *hold.Hold) Reply {
	if b.Done() {
		return Reply{}
	}
	if b.syringe.Step.Value > 0 {
		return b.stepped(id, h)
	}
	r, no := b.rate(id, h)
	if no.Text != "" {
		return no
	}
	b.holds = append(b.holds, r)
	return accepted("%s counts: %s", count("hold", len(b.holds), b.want), b.sayRate(r.rate))
}

// stepped takes a hold of a cycle with a plunger in it.
func (b *Blank) stepped(id string, h *hold.Hold) Reply {
	if !b.cycle.take(id, h) {
		return Reply{}
	}
	c := b.cycle
	b.cycle = cycle{}
	if why := b.unfit(h); why != "" {
		return refused("this hold does not count: %s", why)
	}
	b.meet(h)
	m, err := c.measure(b.told, b.syringe, b.told.boreOr(hoseBore))
	if err != nil {
		return refused("this hold does not count: %v", err)
	}
	r, no := b.rate(id, c.still(m))
	if no.Text != "" {
		return no
	}
	r.ids = c.ids
	r.rate = c.without(m, b.syringe, r.rate)
	b.holds = append(b.holds, r)
	b.volumes = append(b.volumes, m.volume)
	return accepted("%s counts: %s; %s", count("hold", len(b.holds), b.want), m.say(b.syringe), b.sayRate(r.rate))
}

// Line implements [Procedure].
func (b *Blank) Line(text string, _ []trace.Reading) Reply { return b.line(text) }

// InputEnded implements [Procedure].
func (b *Blank) InputEnded() {}

// Done implements [Procedure].
func (b *Blank) Done() bool { return len(b.holds) >= b.want }

func (b *Blank) back() (string, bool) {
	n := len(b.holds)
	if n == 0 {
		return "", false
	}
	b.holds = b.holds[:n-1]
	b.volumes = b.volumes[:min(len(b.volumes), n-1)]
	if n == 1 {
		b.sign = 0
	}
	return fmt.Sprintf("hold %d", n), true
}

// Record implements [Procedure].
func (b *Blank) Record() (rig.Record, error) {
	rate, ids, temperature, doubts, err := mean(b.holds)
	if err != nil {
		return rig.Record{}, err
	}
	volume := b.volume
	notes := append(b.told.notes(temperature), doubts...)
	if len(b.volumes) > 0 {
		v, err := rig.MeanVolume(b.volumes)
		if err != nil {
			return rig.Record{}, err
		}
		volume = v.Measured
		notes = append(notes, v.Doubts...)
	}
	blank, err := rig.NewBlank(b.told.Rig, b.sign, b.told.at(), rate.Measured(), rate.Span, volume)
	if err != nil {
		return rig.Record{}, err
	}
	return rig.Record{Kind: rig.KindBlank, Rig: b.told.Rig, Holds: ids, Notes: notes, Blank: &blank}, nil
}
