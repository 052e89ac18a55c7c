// Package bench conducts one bench, live: gauge → hold → decay → trial → ledger,
// and tells what is going on.
//
// It offers two views. [Bench.Snapshot] is a copy of the present state, made for
// pages and metrics that ask now and then. [Bench.Subscribe] is the numbered
// stream of events; a slow reader loses events and learns how many.
package bench
