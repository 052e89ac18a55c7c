// Package rig computes what is known of the rig: the calibration of its gauge, the
// volume it encloses, its own leak, and whether a reference leak still reads right.
//
// Everything is a pure function of its arguments: no clock, disk or network, no
// shared state, safe from many goroutines. Guided procedures belong to package bench;
// it takes the readings, calls here, and keeps the [Record] that comes out of it.
//
// # Start here
//
//   - [Calibrate] makes a straight line of pairs of reference and reading; a [Column]
//     of water gives such references.
//   - [SyringeStep], [AddedLeak] and [BoreVolume] give a [Volume], in falling order of
//     trust; [FindStep] finds a step in readings, [MeanVolume] makes one of several.
//   - [NewBlank] makes the rig's own leak of a hold with the stoppers joined.
//   - [Check] compares a reference leak with its certificate, [WatchOver] charts such
//     checks over days, [Prove] asks at three volumes whether the rig is right at all.
//   - [MeanRate] makes one pressure rate of several holds, [LeakageRate] a leakage rate of
//     it with all that is enclosed.
//   - [NewStanding] says of a heap of records which of them hold now.
//
// # Units and signs
//
// SI units throughout: Pa, m, m³, K, s, Pa·m³/s. A gauge pressure is bore minus
// ambient, so suction is negative; it is named gauge pressure, all other pressures
// are absolute. Uncertainties are standard uncertainties; a field that ends in U is
// one. Degrees of freedom of 0 mean that there are so many that they do not matter.
//
// # Uncertainty
//
// JCGM 100:2008 (the GUM) throughout: each model is a function of independent inputs,
// and each input contributes half the change of the result between its value plus and
// minus its standard uncertainty (5.1.3, note 2). What several readings share, such as
// the density of the water, is one input and is never averaged away.
//
// # Refusals and doubts
//
// What cannot be computed honestly is a [*Refusal]: what was tried, what was found and
// what to do next. What can, but should not be trusted blindly, comes with sentences
// for people in Doubts. Neither is ever a quiet wrong number.
//
// # Caveats
//
// An interval holds only for the doubts that are in its budget. Not in any: a ruler's
// warmth (12 parts in a million a kelvin for steel), free convection in wide bores
// beyond the share allowed for heat, and evaporation in a wet bore.
package rig
