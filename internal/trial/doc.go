// Package trial judges: one hold against a limit under a stated decision rule,
// several holds combined into one result, as found against as left.
//
// [Judge] makes an [Outcome] of one hold: the object that the fit and hold
// commands print, the ledger keeps and the page shows. [Combine] makes one
// result of several outcomes.
package trial
