// Package catalog holds what instruments are like: joints, their bores, ends, sections,
// open holes and seats. [Templates] is where a shop begins; its own edits are laid on
// top with [Catalog.Edit], one file an instrument, and what they do not tell stays.
//
// # Model
//
// Positions run in metres along the bore from the end nearest the player: on a
// bassoon's boot down the narrow bore and up the wide one. A bore is a row of tapers;
// its volume and heat diameter are those of package air, and what a template's volume
// is worth is said by [rig.BoreVolume]. A seat is where a pad closes a tone hole; a
// hole is one that a finger stops and that has to be plugged for a hold.
//
// Every value is [Told]: it says whether the shop measured it, whether it was
// published and where, or whether it is a template's starting value, which is the
// right size for most such instruments and measured on none. A template's values
// find a leak and give a first volume; they are no ground for a verdict.
//
// # Files
//
// A file is TOML and read strictly. Lengths are text with their unit; any text may end
// with its source in brackets, "14.98 mm [repairer]", where repairer stands in the
// file's table of sources or is "starting value" or "shop". Without brackets a value is
// the template's starting value, or in an edit measured by the shop.
//
//	instrument = "oboe"
//	[[joint]]
//	name = "upper"
//	without = ["3rd octave"]
//	seat = [
//	  { name = "G#", at = "197.5 mm", pad = "9.5 mm" },
//	]
//
// An edit with like = "oboe" begins a new instrument as a copy of another. Ends,
// sections, holes and seats are changed by name; a bore is told whole. What a joint's
// usual table tells counts for the seats of that file that are new.
//
// The package touches no clock, disk or network. A [Catalog] never changes, so any
// number of goroutines may read it.
package catalog
