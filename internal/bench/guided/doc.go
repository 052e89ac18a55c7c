// Package guided leads a person through what has to be measured of a rig: its blank,
// a volume by syringe or by reference leak, a check, a proof, the calibration of its gauge.
//
// # Model
//
// A [Procedure] is a state machine. It is fed with holds that ended and are kept, and
// with lines that the person typed; it answers each with a [Reply] (accepted, with
// figures; or refused, with the reason and what to do), says at any time what to do
// next, and gives a rig.Record in the end. It knows no clock, disk or network.
//
// A [Conductor] leads one procedure live: it is a bench's follower, takes readings and
// holds from the bench's goroutines without ever making them wait, and hands them to the
// procedure in one goroutine, that of [Conductor.Run].
//
// # What counts
//
// A hold counts if it was shut off, has the sign of the first one, and its fit gives a
// pressure rate undisturbed. Rates are those of decay.Fit at the stated difference
// without a volume, so that none of the volume's doubt is in them; see [rig.Rate] for
// what averages between holds and what does not.
//
// Where a syringe moves in a hold (a cycle: draw a little, shut the valve, wait, move the
// plunger, keep still, vent), the finder sees a new draw if the plunger was pulled. The
// cycle's readings then go from the first isolation to the end of the last hold.
//
// # Caveats
//
// A second stroke of a pump, after the bore was shut off, cannot be told from a plunger's
// step; that steps agree is the only witness. A bottle's bore is guessed from its volume.
//
// # Units
//
// SI units inside; gauge pressures are bore minus ambient. Lines typed carry units.
package guided
