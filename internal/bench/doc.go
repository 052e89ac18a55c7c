// Package bench conducts one bench, live: gauge → hold → decay → trial → ledger,
// and tells what is going on.
//
// [New] makes a bench of named gauges, a recorder and what is told of the joint;
// [Bench.Run] works it until the context ends. It offers two views.
// [Bench.Snapshot] is a copy of the present state, made for pages and metrics that
// ask now and then. [Bench.Subscribe] is the numbered stream of events; a slow
// reader loses events and learns how many.
//
// # The way of a reading
//
// Each gauge has a line of its own, and each line four goroutines, so that nothing
// that is slow can ever hold up readings:
//
//	acquisition  takes readings, finds holds, hands readings to the recorder
//	flusher      sends readings to pages, in batches
//	looker       makes the running estimate of a hold in progress, four times a second
//	judge        judges ended holds and ends them in the ledger
//
// The looker takes the hold as it is when it is free; looks that come due
// meanwhile are dropped. The judge drops nothing.
//
// A hold is published and counted only after the recorder has committed it. If the
// recorder fails, the hold is still shown, marked as not recorded.
//
// # What a hold is measured against
//
// What is told of joint and room, what is on record of the rig and the shop's limit are
// settled when a hold begins: from memory, since nothing may wait for a disk there. The
// begin record keeps it all as [Told], so that the fit can be made again; what hangs on
// the sign of the draw, not seen yet, it keeps for both. What a person tells counts
// more than a record, and is noted. A rig that was found out of control gives no pass
// and no fail.
//
// # Trials
//
// Holds of one gauge under one setting make a trial while they are alike: one sign, one
// volume, one state of the rig; else each kind has its own. A trial is full after 30
// holds and over after an hour without one. Whenever it has gained a hold, [Trials] keeps
// it again, so that it is never lost with the program.
//
// # Units and clocks
//
// Pressures are pascals. Times of readings are seconds on the gauge's stream clock;
// the wall clock is used only to stamp records, in UTC. All methods of [Bench] may
// be called from any goroutine.
package bench
