// Package ledger is the stored log of a bench: what a ledger is, how a hold gets
// into it while it is being measured, and how a ledger is audited. Package
// ledger/sqlite keeps it in one file.
//
// # Start here
//
// Open a store (sqlite.Open), give it to [NewWriter], run [Writer.Run] in a
// goroutine of its own. A bench calls [Writer.BeginHold], [Writer.AppendReadings]
// as readings come and [Writer.EndHold]; everything else is appended with
// [Store.Append]. Commands that only look use sqlite.OpenReadOnly.
//
// # Records
//
// A [Record] is never changed. Each carries the SHA-256 of its content and the
// hash of the record before it, so a chain can be walked from its first record to
// its head. One copy of a ledger has one chain that grows; a copied or restored
// ledger starts a new chain whose first record names the head it came from. Across
// chains the order is (UTC, chain, n). A correction, a void or a fit made again is
// a further record.
//
// # Holds
//
// A hold is a begin record, blocks of readings, and an end record that holds the
// count and the SHA-256 of all readings kept. Blocks are not records: they carry
// the running SHA-256 of their hold and the end record seals them. See [Block] for
// the layout of the bytes.
//
// A begin without an end belongs to a writer that still lives, or is interrupted.
// A writer with an open hold advances a counter, its beat, in every commit. Whoever
// wants to know watches the counter for [Lease] on its own monotonic clock: no clock
// is compared with another one, so neither a killed process nor a step of the wall
// clock can deceive it. The next writer ends an interrupted hold and marks it; the
// beat is looked at again inside the transaction that does so, which makes a slow
// disk harmless. A writer that was frozen for longer than the lease loses its open
// hold and is told so ([ErrInterrupted]).
//
// # Tickets
//
// A ticket is recorded whole each time it changes, under the number of its first record
// ([Store.KeepTicket]); the newest record counts. So is a customer. Work is a record of its
// own. The lists of tickets, instruments and customers, and the words by which tickets are
// found, are derived from those records; an audit compares them.
//
// # Free text
//
// What people write, and who they are, must be erasable. It lives beside the chain
// as a [Text]; the record holds only the salted hash. An audit accepts an erased
// text and refuses a changed one. The words of an erased customer go with his texts.
//
// # Concurrency
//
// A [Writer]'s methods may be called from any goroutine and never wait for the
// disk; a [Receipt] tells when something is on it. Any number of processes may
// write to one ledger, each through its own writer.
package ledger
