// Package ticket says what a visit of an instrument is: the instrument, the customer, the
// trials and the work done, without any storage.
package ticket
