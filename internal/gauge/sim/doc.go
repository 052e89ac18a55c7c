// Package sim is a simulated gauge on a simulated joint, in three forms: a
// [Scenario] computes a whole trace at once together with the [Truth] of each
// hold, for tests and accuracy tables; a [Device] from [Open] plays endless holds
// in real time in the bytes of the frame protocol, for demonstrations; a [Script]
// plays what a day at the bench needs, scene after scene. Beside joints there are
// the [Rig], [Reference] leaks, bottles, a syringe ([Barrel]) and a [WaterColumn].
//
// # Model
//
// The bore is a row of round [Segment]s at one pressure p(t). Each is cut into
// coaxial rings, thin at the wall; heat is conducted from ring to ring and to the
// wall, and compression heats every ring alike:
//
//	∂T/∂t = α∇²T + ((γ−1)/γ)(T/p)·dp/dt
//
// Pressure follows from the mass, which is conserved exactly: m·R_s = p·Σ V/T over
// all rings, d(m·R_s)/dt = q/T_room. What flows, q, is the sum over seats
// ([Leak]), each a sharp entry followed by a narrow channel. Nothing is taken from
// the program's own model of the decay: no modes, no single law of the gap, so
// that an estimate tested against these traces is tested against other physics.
//
// # Units and signs
//
// SI throughout: pascals, kelvins, seconds, metres, cubic metres, throughput in
// Pa·m³/s. Readings are gauge pressure (bore minus ambient, suction negative)
// unless the sensor is absolute; Δ and the To of a draw are positive magnitudes.
//
// # Caveats
//
// No free convection: above about 12 mm radius a real bore settles sooner. The
// pressure is uniform, so the hose has no resistance. Gas that enters is at once
// at the temperature of the ring it meets, and so is gas that a plunger moves.
// Leaks do not change as the lamp warms the wall.
//
// Equal scenarios, seeds included, give equal readings on one architecture. A
// Scenario is a value and may be run from many goroutines.
package sim
