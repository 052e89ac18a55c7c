package rig_test

import (
	"fmt"
	"time"

	"boretight/internal/rig"
)

// A gauge held against a column of water, up and down.
func ExampleCalibrateAgainst() {
	column := rig.Column{
		Temperature: rig.Measured{Value: 294.15, U: 0.5},
		Ambient:     rig.Measured{Value: 98300, U: 200},
		Place:       rig.Place{Latitude: 47.4, Height: 410, Told: true},
		ReadU:       0.3e-3, MeniscusU: 0.2e-3, RulerU: 3e-4, WaterU: 2e-4, Lean: 0.03,
	}
	c, err := rig.CalibrateAgainst(column, rig.Gauge{Min: -7500, Max: 7500, Resolution: 0.5}, []rig.Level{
		{Height: 0, Reading: 4.1, Course: rig.Up}, {Height: -0.1, Reading: -981, Course: rig.Up},
		{Height: -0.2, Reading: -1970, Course: rig.Up}, {Height: -0.3, Reading: -2956, Course: rig.Up},
		{Height: -0.2, Reading: -1966, Course: rig.Down}, {Height: -0.1, Reading: -984, Course: rig.Down},
		{Height: 0, Reading: 3.2, Course: rig.Down},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("multiply differences by %.4f, known to %.2f %%\n", c.SpanFactor(), 100*c.SpanU())
	fmt.Printf("mostly for %s and %s\n", c.Span.Budget[0].Source, c.Span.Budget[1].Source)
	// Output:
	// multiply differences by 0.9910, known to 0.18 %
	// mostly for scatter and hysteresis
}

// One millilitre drawn from a joint that holds about forty.
func ExampleSyringeStep_Volume() {
	v, err := rig.SyringeStep{
		Step:        rig.Measured{Value: 1e-6, U: 0.01e-6},
		Before:      rig.Side{Pressure: rig.Measured{Value: -500, U: 0.4}, Rate: rig.Measured{Value: 4, U: 0.2}, Wait: 1},
		After:       rig.Side{Pressure: rig.Measured{Value: -2960, U: 0.6}, Rate: rig.Measured{Value: 23, U: 0.3}, Wait: 1},
		Ambient:     rig.Measured{Value: 98300, U: 200},
		SpanU:       0.003,
		Bore:        rig.Measured{Value: 12e-3, U: 1e-3},
		Temperature: 294,
	}.Volume()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f ml, u = %.2f ml, mostly for the %s\n", v.Value*1e6, v.U*1e6, v.Budget[0].Source)
	// Output:
	// 38.72 ml, u = 0.41 ml, mostly for the syringe
}

// A bench that has never been set up still says what it does not know.
func ExampleNewStanding() {
	s := rig.NewStanding(time.Date(2026, 3, 10, 9, 0, 0, 0, time.UTC), rig.Subject{Joint: "oboe/upper"})
	for _, note := range s.Notes() {
		fmt.Println(note)
	}
	// Output:
	// The rig has not been checked with a reference leak.
	// Rig not proven: measure a reference leak on three rigid bottles.
	// The gauge has no calibration on record: its span counts as known to 2 %.
	// No volume was measured for this joint with this closure.
	// No blank of this rig is on record: what the rig leaks counts as the joint's.
}
