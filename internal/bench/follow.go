package bench

import (
	"boretight/internal/hold"
	"boretight/internal/trace"
)

// Follower follows what is measured at a bench, to lead a person through a procedure
// for example. Its methods are called from several goroutines and must not block: the
// gauge would have to wait.
type Follower interface {
	// Read is called with each reading of a gauge, in order of time.
	Read(gauge string, r trace.Reading)
	// Held is called with each hold that has ended, once it is on the disk under its
	// identity. It shares its readings with the bench: they are not to be changed.
	Held(gauge, id string, h *hold.Hold)
}

// nobody follows.
type nobody struct{}

func (nobody) Read(string, trace.Reading)      {}
func (nobody) Held(string, string, *hold.Hold) {}
