package main

import (
	"slices"
	"strings"
	"time"

	"boretight/internal/decay"
	"boretight/internal/rig"
)

// rigUsed says in one line what of a rig's records a result rests on, each with the begin
// of its identity; empty where it rests on none.
func rigUsed(records []rig.Record, used []string) string {
	var parts []string
	for _, r := range records {
		if !slices.Contains(used, r.ID) {
			continue
		}
		text := string(r.Kind) + " of " + r.ValidFrom.In(time.Local).Format("2 Jan")
		switch {
		case r.Volume != nil:
			text = "volume by " + string(r.Volume.Method) + " " + plusMinus(r.Volume.Value*1e6, 2e6*r.Volume.U, "ml")
		case r.Blank != nil:
			q := r.Blank.LeakRate.Measured
			text = "blank " + plusMinus(decay.SCCM(q.Value, roomTemperature), 2*decay.SCCM(q.U, roomTemperature), "sccm")
		}
		parts = append(parts, text+" ("+r.ID[:min(len(r.ID), shownID)]+")")
	}
	return strings.Join(parts, ", ")
}

// roomTemperature in K is what a rig's own leak is stated in sccm for.
const roomTemperature = 293.15

// shownID is how much of an identity is shown: its time and a little of what tells it from
// others of that millisecond.
const shownID = 13
