package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/rig"
)

func TestOnlyWhatRecordsShowToBeTheSameIsCommon(t *testing.T) {
	t.Parallel()
	base := func() ground {
		return ground{
			fit: decay.Setup{Volume: decay.Input{Value: 34e-6, U: 1e-6}, Bore: decay.Input{Value: 9e-3}, SpanU: -1},
			rig: bench.ToldRig{Identity: rig.Identity{Gauge: "HX-1"}},
			day: time.Date(2026, 11, 25, 9, 0, 0, 0, time.Local),
		}
	}
	type answer struct{ volume, gauge, blank, bore bool }
	for name, c := range map[string]struct {
		change func(a, b *ground)
		want   answer
	}{
		"one day, one gauge, told once": {func(_, _ *ground) {}, answer{true, true, false, true}},
		"another day, and nothing names the parts": {func(_, b *ground) {
			b.day = b.day.AddDate(0, 0, 3)
		}, answer{false, false, false, true}},
		"another day, the same hose and stoppers": {func(a, b *ground) {
			b.day = b.day.AddDate(0, 0, 3)
			for _, g := range []*ground{a, b} {
				g.rig.Identity.Hose, g.rig.Identity.Stoppers = "clear", "A"
			}
		}, answer{true, false, false, true}},
		"another day, with records of all": {func(a, b *ground) {
			b.day = b.day.AddDate(0, 0, 3)
			for _, g := range []*ground{a, b} {
				g.rig.Volume, g.rig.Calibration, g.rig.Blank = "v1", "c1", "b1"
			}
		}, answer{true, true, true, true}},
		"another hose": {func(_, b *ground) { b.rig.Identity.Hose = "black" }, answer{false, true, false, true}},
		"another figure of the volume": {func(_, b *ground) {
			b.fit.Volume.Value = 35e-6
		}, answer{false, true, false, true}},
		"the volume measured anew": {func(a, b *ground) {
			a.rig.Volume, b.rig.Volume = "v1", "v2"
		}, answer{false, true, false, true}},
		"told once and measured once": {func(_, b *ground) { b.rig.Volume = "v2" }, answer{false, true, false, true}},
		"one bore volume with another blank's rig": {func(a, b *ground) {
			a.rig.Volume, b.rig.Volume = "v1", "v1"
			a.rig.RigVolume, b.rig.RigVolume = "b1", "b2"
		}, answer{false, true, false, true}},
		"no volume": {func(a, b *ground) { a.fit.Volume, b.fit.Volume = decay.Input{}, decay.Input{} }, answer{false, true, false, true}},
		"another gauge": {func(_, b *ground) {
			b.rig.Identity.Gauge = "HX-2"
		}, answer{true, false, false, true}},
		"a gauge without a serial number": {func(a, b *ground) {
			a.rig.Unnamed, b.rig.Unnamed = true, true
		}, answer{true, false, false, true}},
		"calibrated in between": {func(a, b *ground) {
			a.rig.Calibration, b.rig.Calibration = "c1", "c2"
		}, answer{true, false, false, true}},
		"another blank": {func(a, b *ground) {
			a.rig.Blank, b.rig.Blank = "b1", "b2"
		}, answer{true, true, false, true}},
		"another bore told": {func(_, b *ground) { b.fit.Bore.Value = 10e-3 }, answer{true, true, false, false}},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			a, b := base(), base()
			c.change(&a, &b)
			var got answer
			got.volume, _ = sameVolume(a, b)
			got.gauge, _ = sameGauge(a, b)
			got.blank, _ = sameBlank(a, b)
			got.bore, _ = sameBore(a, b, true)
			assert.Equal(t, c.want, got)
		})
	}
	bore, _ := sameBore(base(), base(), false)
	assert.False(t, bore, "two joints without a name")
}
