// Package decay turns one hold into one leakage rate with its uncertainty.
//
// Begin with [Fit]: a [hold.Hold] and a [Setup] in, a [Result] out. It is a pure
// function: no clock, no randomness, no shared state, safe from many goroutines.
//
// # Model
//
// A plain exponential is not fitted, because it is wrong by up to 1.4 times while
// heat flows, and by tens of percent for a leak that is a hole. model.go has the
// equations: what the bore contains, air and its warmth and what pads give way,
// changes by what the leak lets through. Heat is conducted ring by ring of a bore
// that may taper (heat.go); the leak's law runs from a thin gap to a hole in one
// parameter (air.Law); where the air's warmth stands at isolation follows from the
// recorded draw, not from a free parameter.
//
// # Estimate
//
// Readings are averaged in bins that are short against everything that changes in
// them, with the rests before and after as the zero. A least-squares core (lm.go)
// finds the parameters, with what is believed beforehand (prior.go) as further rows;
// the scatter of the residuals then gives the noise, its memory included (noise.go),
// and the sum is solved again with that. What cannot be (a share below 0) is cut
// from the resulting normal distribution (posterior.go). While fitting, the rate is
// stated at the middle of the hold, where it hangs least on the law; the stated Δp
// comes last.
//
// The budget (report.go) splits the uncertainty by what would remain if one
// source after the other were known; its lines add up in squares to the whole.
//
// A change in mid-hold, a leak that opens or a knock, is looked for by a score test
// (disturb.go). A knock that comes back is left out; of all else only the stretch
// before it counts (clean.go).
//
// # Caveats
//
// A volume told too small or too large goes straight into the leakage rate. Free
// convection in wide bores, the resistance of long hoses and a second slow volume
// behind a pierced skin are not in the model. A creep slower than the hold is a
// leak to it. Interval and verdict are honest only for doubts that are in the budget.
package decay
