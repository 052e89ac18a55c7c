package guided

import (
	"errors"

	"boretight/internal/hold"
	"boretight/internal/rig"
)

// steps gathers movements of a syringe's plunger.
type steps struct {
	syringe Syringe
	bore    rig.Measured // heat diameter; zero when not known
	now     cycle
	volumes []rig.Volume
}

// seen is a complete cycle with the step in it.
type seen struct {
	cycle
	moved
}

// take adds a hold. With a cycle that is complete it says what the step was, or why it
// does not count; nothing of it is kept until [steps.keep].
func (s *steps) take(in *series, id string, h *hold.Hold) (step *seen, reply Reply) {
	if !s.now.take(id, h) {
		return nil, Reply{}
	}
	c := s.now
	s.now = cycle{}
	if len(c.holds) > 1 && !h.Isolated() {
		return nil, refused("this step does not count: after the plunger moved the bore was never left still; keep still for 10 s before opening the valve")
	}
	if why := in.unfit(h); why != "" {
		return nil, refused("this step does not count: %s", why)
	}
	in.meet(h)
	m, err := c.measure(in.told, s.syringe, s.bore)
	if err != nil {
		return nil, refused("this step does not count: %s", plain(err))
	}
	return &seen{c, m}, Reply{}
}

// plain is a refusal without what was being done, which the person knows.
func plain(err error) string {
	r, ok := errors.AsType[*rig.Refusal](err)
	switch {
	case !ok:
		return err.Error()
	case r.Hint == "":
		return r.Found
	}
	return r.Found + "; " + r.Hint
}

func (s *steps) keep(step *seen) { s.volumes = append(s.volumes, step.volume) }

// back takes the last step away.
func (s *steps) back() {
	s.now = cycle{}
	s.volumes = s.volumes[:max(len(s.volumes)-1, 0)]
}
