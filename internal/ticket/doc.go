// Package ticket says what a visit of an instrument is: the instrument, the customer, the
// joints to be held as found and as left, and the work done, without any storage. All is
// plain values, safe to copy and to read from any goroutine; times are UTC.
//
// What people write (complaint, condition, remark, work done) and who they are (customer)
// can be erased where a ticket is stored: such a text is then empty. The instrument stays.
package ticket
