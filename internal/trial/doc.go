// Package trial judges: one hold against a limit under a stated decision rule,
// several holds combined into one result, as found against as left.
//
// Everything is a pure function of its arguments: no clock, disk or network, no
// shared state, safe from many goroutines. Leakage rates are in Pa·m³/s at the stated
// pressure difference; uncertainties are standard uncertainties; intervals are central
// 95 % intervals.
//
// # Start here
//
//   - [Judge] makes an [Outcome] of one hold: the object that the fit and hold commands
//     print, the ledger keeps and the page shows. [Early] decides while it lasts.
//   - [Pool] makes one result, a [Trial], of several holds told with their joint,
//     closure, rig and plugging; [KnownOf] says what earlier ones tell of the rig.
//   - [Compare] sets a trial as found against one as left.
//   - [Propose] proposes a limit from joints that passed.
//   - [Outcome.Improvements] and [Trial.Improvements] say what to improve first;
//     [BudgetText] prints them.
//
// # Model
//
// A hold's leakage rate is that of the joint, plus an error that all holds of the
// trial share (volume, span, rig, heat, law, creep, drift of warmth), plus what differs
// between pluggings, plus what differs between holds, plus what the hold says of itself
// (noise, zero). The shared error never averages out. The scatter between is found from
// the holds (Mandel and Paule; two levels by an analysis of variance as in JCGM 100:2008,
// H.5) and from what earlier trials told of the rig. Degrees of freedom follow Welch and
// Satterthwaite (JCGM 100:2008, G.4).
//
// The verdict is that of JCGM 106:2012: the probability that the leakage rate is at or
// below the limit, given its value and uncertainty, must reach 0.95 to pass and 0.05 to
// fail.
//
// # Caveats
//
// Two holds say little of how holds scatter: where they happen to agree better than
// they usually would, the interval is too narrow. Measured on simulated trials, 95 %
// intervals hold the truth in 86 % of trials of two holds at worst, in 92 % of three and
// in 93 % of five: where what lies between holds is a few times what each states. A
// repeatability known from earlier trials, given in [Terms], mends that.
//
// Holds that differ wildly are shown as [Outlier], and counted. Only a person can say
// that one was wrong, and voids it with a reason.
package trial
