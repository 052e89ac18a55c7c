// Package cadence gives sample times to the lines of a gauge that has no clock of its
// own, from the times at which they reached the host.
//
// # Model
//
// A gauge of an even rate makes line n at t₀ + nP. It arrives later, never earlier:
// USB adapters collect bytes into lumps of up to 16 ms, and the system hands them over
// when it comes to it. So the line t₀ + nP is the lower envelope of the points (n,
// arrival), and only the last line of a read, which has waited least, is looked at. A
// constant part of the delay cannot be told from t₀; it moves all times alike.
//
// A [Grid] learns the period from the first second or so, in which times are those of
// arrival: of periods near the median slope, the one whose points lie closest above
// their envelope. From then on it follows period and offset by the lower convex hull
// of the earliest arrivals of the last 8 s, one for each quarter of a second, and moves
// to a new line by slewing over about a second, never by a step.
//
// # Lost lines
//
// Lines that come later than any of the last reads by more than a period, or that stay
// late by a period for some reads, say that lines before them are lost: the count jumps,
// and the loss is a gap in the times. When it turns out to have been a hitch (the lines
// come early on the new count), the count goes back; losses are counted only when they
// have stood for some reads. The count can be off by one line for some reads after a
// loss if lumps are longer than the period.
//
// # Changes
//
// After a pause of a second and of 20 periods the grid begins anew at the first line,
// with the old period. When the count does not hold (lines come early again and again,
// or most seem lost) the rate has changed, and is learned anew. When that does not help
// either, the gauge keeps no even rate: times are then those of arrival, and
// [Grid.Even] is false until a grid has held for a while. A gauge slower than 3 lines a second is timed by arrival too.
//
// What piled up while the computer took nothing must be given as one read. Where more
// came than can have been made, times are put off; where that is much, or a buffer ran
// over, [Grid.Doubtful] tells.
//
// Times rise strictly, by a microsecond where lines would else be told apart by nothing:
// those of the first read, which may have waited for long, and those that came before
// their time. A Grid is causal: a time, once given, stands. It belongs to one
// goroutine and reads no clock.
package cadence
