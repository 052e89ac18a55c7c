// Package gauge is a stream of pressure readings from a device: a serial port, a TCP
// connection, a simulated gauge or a recording. Start with [ParseAddress], [Open] and
// [Keep]:
//
//	address, err := gauge.ParseAddress("serial:/dev/ttyUSB0")
//	g, err := gauge.Open(address, gauge.Options{Logger: log})
//	err = gauge.Keep(ctx, g, sink, gauge.KeepOptions{Logger: log})
//
// # Model
//
// A [Gauge] opens its device in Run, decodes what comes and hands readings to a
// [Sink] until the context ends or the device is gone. Keep runs it again and again,
// so that a gauge may be unplugged and come back. What cannot be cured by waiting
// (a recording's end and, for a command whose user waits, another version of the
// protocol) ends Keep with an error that says what to do; no fault of a port does, since
// a permission, another adapter or another cable may come at any time. Below this
// package lies one package a dialect ([frames]) and the stand-ins for devices, sim and
// replay.
//
// # A port that changes its name
//
// A serial gauge remembers, from its first opening on, what USB tells of its port and
// what the gauge says it is. When it comes back it is looked for under the name that
// was given (a link is followed to wherever it leads then), at the port with the same
// USB identity, where another gauge of the program met it, and last at ports of the
// same kind that were plugged in since. Where USB leaves a doubt, only the gauge's own
// serial number makes it ours. Another gauge under the name that was given is never
// mixed in: it is said, and after 10 s, if ours is nowhere and no other gauge of the program
// misses it, taken in its place, which is said as well. So a name given in NAME=ADDRESS
// follows the gauge, not the socket. Gauges of one program share a [Claims], so that
// none takes the port of another. Ports are opened only where a gauge may be, because
// opening resets some devices; a question mark and a line feed are then written to
// them, which asks a gauge for its name.
//
// # A port that is not known
//
// [Find] listens at each port for whoever does not know which one has a gauge, or at
// which rate. It opens all that nobody has, so it runs only when a person asks for it.
//
// # Time and units
//
// Pressures are pascals. A reading's T is the gauge's own clock, counted from the
// first reading. After an interruption it goes on by the time that passed on the
// monotonic clock of the host; [Sink.Break] says that the two sides of it do not
// belong together.
//
// A gauge of dialect text has no clock. Its lines get the times of an even grid that
// package cadence draws below their arrivals. What error is left, simulated with a
// clock 200 ppm off and from 2 s on, is 0.15 to 0.3 ms RMS in lumps of 1 ms (10 to
// 1,000 Hz); in lumps of 16 ms it is 1.7 ms at 10 Hz, 1.6 ms at 50 Hz, 0.7 ms at
// 100 Hz and 0.3 ms at 1,000 Hz, where arrival itself is off by 4.6 ms. With 3 % of the
// lines lost it is 3 ms at 100 Hz and 1.6 ms at 1,000 Hz in such lumps. A read that
// comes very late can be off by its delay.
//
// # Concurrency
//
// Run calls its Sink from its own goroutine and returns only when all it started has
// ended. Stats may be called from anywhere at any time.
//
// # Caveats
//
// A port that is unplugged and one that is closed look alike to the serial library;
// Run knows which it was because only it closes. Ports show up as busy only to users
// other than root. On Unix a serial port cannot be read when its descriptor is 1,024
// or more (select(2)); Run then says so.
package gauge
