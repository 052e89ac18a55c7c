// Package config says what the program is told beside its readings: by a file, by
// the environment and by flags, each over the one before, all over [Default].
//
// The file is TOML and read strictly: a key that is not known is a fault with its
// place. Every number with a dimension is written with its unit. [Measure] is at the
// same time the [measure] table of the file and the flags of the commands that
// measure, so that both always take the same things; so are [Labels] and [Rig].
//
// The page may write the file too: [Edit] changes keys and keeps every other byte,
// and [Save] puts the outcome in the file's place. Nothing here keeps state; whoever
// saves from several goroutines makes them take turns.
package config
