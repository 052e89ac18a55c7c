package main

import (
	"context"
	"fmt"
	"time"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/ledger"
	"boretight/internal/trial"
)

// ground is what a trial's figures rest on, as the begin record of one of its holds says:
// all of them are alike.
type ground struct {
	fit decay.Setup
	rig bench.ToldRig
	day time.Time // local
}

func groundOf(ctx context.Context, store ledger.Store, t ledger.Trial) (ground, error) {
	var g ground
	if len(t.Holds) == 0 {
		return g, fmt.Errorf("trial %s has no holds", t.ID)
	}
	h, err := store.Hold(ctx, t.Holds[len(t.Holds)-1])
	if err != nil {
		return g, err
	}
	told, err := bench.ReadTold(h.Begin.Setup)
	if err != nil {
		return g, err
	}
	g.fit, g.rig, g.day = told.Fit, told.Rig[t.Result.Sign], h.Begin.Started.Local()
	return g, nil
}

// commonTo says which errors two trials share, and why or why not, from their records.
// Nothing is taken as common that is not shown to be: another day may mean another hose,
// another gauge with the same name.
func commonTo(ctx context.Context, store ledger.Store, found, left ledger.Trial) (c trial.Common, because []string, err error) {
	a, err := groundOf(ctx, store, found)
	if err != nil {
		return c, nil, err
	}
	b, err := groundOf(ctx, store, left)
	if err != nil {
		return c, nil, err
	}
	judge := func(common *bool, what string, shared bool, why string) {
		word := "not common"
		if *common = shared; shared {
			word = "common"
		}
		because = append(because, fmt.Sprintf("%s: %s, %s", what, word, why))
	}
	shared, why := sameVolume(a, b)
	judge(&c.Volume, "volume", shared, why)
	shared, why = sameGauge(a, b)
	judge(&c.Gauge, "span of the gauge", shared, why)
	shared, why = sameBlank(a, b)
	judge(&c.Rig, "rig's own leak", shared, why)
	shared, why = sameBore(a, b, found.Of == left.Of && found.Of != "")
	judge(&c.Bore, "bore", shared, why)
	return c, because, nil
}

func sameVolume(a, b ground) (bool, string) {
	switch of, other := a.rig.Volume, b.rig.Volume; {
	case of != other:
		return false, "it was measured or told anew"
	case of != "":
		return a.rig.RigVolume == b.rig.RigVolume, "from the same record " + of
	case !a.fit.Volume.Told() || !b.fit.Volume.Told():
		return false, "it was not told"
	case a.fit.Volume != b.fit.Volume:
		return false, "other figures were told"
	case !sameParts(a, b):
		return false, "the same figure was told, but of another rig"
	case !sameDay(a, b) && !named(a):
		return false, "the same figure was told on another day, and no record says that hose and stoppers were the same"
	}
	return true, "the same figure was told of the same rig"
}

// sameParts reports whether nothing speaks against one rig; the gauge hardly matters to
// a volume, and may have been changed for a like one.
func sameParts(a, b ground) bool {
	x, y := a.rig.Identity, b.rig.Identity
	x.Gauge, y.Gauge = "", ""
	return x == y
}

// named reports whether the parts were told that make a rig's volume.
func named(g ground) bool { return g.rig.Identity.Hose != "" && g.rig.Identity.Stoppers != "" }

func sameDay(a, b ground) bool {
	const day = "2006-01-02"
	return a.day.Format(day) == b.day.Format(day)
}

func sameGauge(a, b ground) (bool, string) {
	x, y := a.rig.Identity.Gauge, b.rig.Identity.Gauge
	switch {
	case x != y:
		return false, fmt.Sprintf("the gauges were %s and %s", x, y)
	case a.rig.Calibration != b.rig.Calibration:
		return false, "the gauge was calibrated anew"
	case a.rig.Calibration != "":
		return true, "gauge " + x + " in the same calibration " + a.rig.Calibration
	case x == "" || a.rig.Unnamed || b.rig.Unnamed:
		return false, "the gauge gave no serial number"
	case a.fit.SpanU != b.fit.SpanU:
		return false, "other figures were told"
	case !sameDay(a, b):
		return false, "gauge " + x + " has no calibration on record, and it was another day"
	}
	return true, "gauge " + x + " on one day"
}

func sameBlank(a, b ground) (bool, string) {
	switch {
	case a.rig.Blank == "" && b.rig.Blank == "":
		return false, "no blank was subtracted"
	case a.rig.Blank != b.rig.Blank:
		return false, "other blanks were subtracted"
	}
	return true, "the same blank " + a.rig.Blank + " was subtracted"
}

func sameBore(a, b ground, oneJoint bool) (bool, string) {
	switch {
	case !oneJoint:
		return false, "the joint has no name"
	case a.fit.Bore != b.fit.Bore:
		return false, "other figures were told"
	}
	return true, "one joint, and nothing else was told"
}
