// Command replugs unplugs a gauge from a running program and plugs it in again as
// another port, again and again, and looks at what becomes of it.
//
//	go run ./internal/tools/replugs -rounds 20 -seed 1
//
// It starts the program's serve command with a ledger and a gauge on a link to a
// pseudo-terminal. In each round the link goes, the terminal's other side closes, and
// after a random while the link leads to another terminal with another number, at
// which the gauge begins its numbers and its clock anew, as one that lost its power
// does. Half of the rounds meet the gauge at rest, half in a hold. It must be read
// again within 3 s of the plug (-within), without a reading twice or out of order; a hold that
// was going on must be in the ledger, cut, with the reason. Then the program runs for
// a while without its gauge, and the time it takes of a processor is read. The exit
// status is 1 if a round breaks this.
package main
