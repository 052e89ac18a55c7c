// Command load feeds a running program from many fast gauges and says what that costs
// it, and how long a reading takes from its line to the picture in a browser.
//
//	go run ./internal/tools/load -gauges 8 -hz 1000 -seconds 60
//	go run ./internal/tools/load -gauges 1 -hz 100 -browsers 3 -slow 1
//
// It builds the program, starts its serve command on a fresh ledger and speaks to it as
// so many gauges, each on a pseudo-terminal of its own (or, with -over tcp, on a
// connection), one write a reading as USB brings them. With -at holds each gauge makes
// one hold after another, all at once, which is the worst case; with -at rest nothing
// happens. After a time of warming up it reads from the system, for -seconds, what the
// program takes of a processor and of memory. Its own part and the browsers' are not in
// these figures, though they run on the same processors.
//
// The time to the picture is taken in Chromium: the page says when it has drawn a
// reading, and what counts is the beginning of the frame after the one that was drawn
// in, when the picture is on its way to the screen; both clocks are this computer's. Every reading
// counts, not only the last of a batch. A slow browser (-slow) is a connection that asks for the live
// stream and takes nothing of it.
//
// It prints a Markdown table and asserts nothing.
package main
