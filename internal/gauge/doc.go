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
// so that a gauge may be unplugged and come back. What cannot be cured by waiting (no
// permission, another version of the protocol) ends Keep with an error that says
// what to do. Below this package lies one package a dialect ([frames]) and the
// stand-ins for devices, sim and replay.
//
// # Time and units
//
// Pressures are pascals. A reading's T is the gauge's own clock, counted from the
// first reading. After an interruption it goes on by the time that passed on the
// monotonic clock of the host; [Sink.Break] says that the two sides of it do not
// belong together.
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
