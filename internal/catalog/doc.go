// Package catalog holds templates of instruments: joints, sections, seats and
// closures, with the shop's own edits on top. It touches no clock, disk or network.
package catalog
