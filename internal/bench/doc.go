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
// # Units and clocks
//
// Pressures are pascals. Times of readings are seconds on the gauge's stream clock;
// the wall clock is used only to stamp records, in UTC. All methods of [Bench] may
// be called from any goroutine.
package bench
