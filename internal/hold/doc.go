// Package hold cuts a stream of readings into holds: rest, draw, settle, hold, vent.
//
// A [Finder] takes readings one by one, as they come, and says what it found by
// [Event]s. Live and recorded readings go through the same code in the same way;
// nothing looks ahead. What a finder says late, it says how late: isolation is
// known only once no further stroke of the pump came for a while (see [Isolated]).
//
// The package knows no clock, disk or network: all times are those of the readings.
package hold
