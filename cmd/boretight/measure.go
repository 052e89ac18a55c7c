package main

import (
	"errors"

	"boretight/internal/bench"
	"boretight/internal/config"
	"boretight/internal/decay"
	"boretight/internal/hold"
	"boretight/internal/quantity"
	"boretight/internal/rig"
	"boretight/internal/trial"
)

// measure judges holds as the command line says.
type measure struct {
	setup decay.Setup
	limit quantity.LeakRate
	notes []string
	// doubts are of the values told.
	doubts []string
}

// newMeasure checks what was told.
func newMeasure(told config.Measure) (measure, error) {
	if err := told.Validate(); err != nil {
		return measure{}, &usageError{err: err}
	}
	m := measure{setup: told.Setup(), notes: told.Notes(), doubts: told.Doubts()}
	if told.Limit != nil {
		m.limit = *told.Limit
	}
	return m, nil
}

// judge fits one hold.
func (m measure) judge(h *hold.Hold) trial.Outcome {
	o := trial.Judge(h, m.setup, bench.LimitOf(m.limit, m.setup, h))
	o.Notes = append(o.Notes, m.notes...)
	o.Press(m.doubts...)
	if o.Decision != nil {
		o.Decision.From = bench.LimitTold
	}
	return o
}

// settings returns the same for a bench.
func (m measure) settings() bench.Settings {
	return bench.Settings{
		Setup: bench.Setup{At: m.at(), VolumeM3: m.setup.Volume.Value, LimitSCCM: m.limitSCCM()},
		Fit:   m.setup,
		Notes: m.notes, Doubts: m.doubts,
		Limit: m.limit,
	}
}

// newSettings is what a bench measures against as the configuration says.
func newSettings(told config.Config) (bench.Settings, error) {
	m, err := newMeasure(told.Measure)
	if err != nil {
		return bench.Settings{}, err
	}
	if err := errors.Join(told.Labels.Validate(), told.Rig.Validate()); err != nil {
		return bench.Settings{}, &usageError{err: err}
	}
	s, l := m.settings(), told.Labels
	s.Setup.Bench = told.Bench
	s.Setup.Instrument, s.Setup.Joint, s.Setup.Section = l.Instrument(), l.JointOf(), l.Section
	s.Setup.Closure, s.Setup.When, s.Setup.Ticket = l.Closure, l.Occasion(), l.Ticket
	s.Replugged = l.Replugged
	s.Rig = rig.Identity{Hose: told.Rig.Hose, Stoppers: told.Rig.Stoppers, Valve: told.Rig.Valve}
	return s, nil
}

// at returns the stated pressure difference in Pa.
func (m measure) at() float64 {
	if m.setup.At == 0 {
		return decay.DefaultAt
	}
	return m.setup.At
}

// limitSCCM returns the limit in sccm for people to see before there is a hold, 0
// without one; one told in another unit counts at the temperature told or at 20 °C.
func (m measure) limitSCCM() float64 {
	temperature := quantity.FromCelsius(20)
	if m.setup.Temperature.Told() {
		temperature = quantity.Temperature(m.setup.Temperature.Value)
	}
	return m.limit.At(temperature).SCCM(temperature)
}
