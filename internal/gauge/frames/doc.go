// Package frames reads and writes the frame protocol that our own gauges speak:
// ASCII, one frame a line,
//
//	$BTRD,2656,3660740,16.6,24.57,00*2E82
//	$BTID,1,HX-0417,G,-7500,7500,0.5,100*E928
//
// where the four digits after the star are the CRC-16/IBM-3740 of what stands
// between dollar and star. BTRD is a reading (number, gauge's clock in µs, Pa, °C,
// status), BTID says which gauge it is. The layout stands in firmware-notes.
//
// A [Decoder] is fed with the bytes as they come, in pieces of any size, and calls
// a [Handler] for what it finds. It trusts nothing: bytes may be missing, changed or
// from another device, and a stream without a line end must not grow memory.
//
// # What is counted
//
// Each line counts once. A line is read from its last dollar sign, so what a lost
// line end glued before a frame does not cost that frame. A line that holds no
// frame, a frame whose checksum or fields are wrong, and a reading whose number
// repeats the one before, or whose clock has not moved since, are damaged, and so is a
// frame cut short before another began on its line. Blank lines are not, nor is the first line
// when it has no dollar sign, because a port is opened in the middle of a line.
// Lost readings are counted from gaps in their numbers; a damaged reading is
// therefore damaged as a line and lost as a reading.
//
// # Time
//
// A reading's T comes from the gauge's own clock, unwrapped over its 32 bits, and
// starts at 0 with the first reading. It rises with each. When number or clock do
// not follow from the reading before, two explanations are possible: the gauge
// began anew, or the checksum let a damaged line pass (one in 65 536 does). The
// next reading decides, so after a restart the first reading is delivered together
// with the second.
//
// # Allocation and concurrency
//
// Decoding readings allocates nothing. A Decoder belongs to one goroutine.
package frames
