package guided

import (
	"fmt"
	"strings"

	"boretight/internal/hold"
	"boretight/internal/rig"
	"boretight/internal/trace"
)

// Procedure is one guided procedure. It is for one goroutine.
type Procedure interface {
	// Next says in one line what to do next.
	Next() string
	// Held takes a hold that has ended and is kept under an identity.
	Held(id string, h *hold.Hold) Reply
	// Line takes a line typed by the person, with the newest readings of the gauge: a few
	// seconds of them, none while it is not heard.
	Line(text string, recent []trace.Reading) Reply
	// InputEnded is told when no further line will come.
	InputEnded()
	// Done reports whether there is nothing left to do.
	Done() bool
	// Record computes what the procedure was for. Its identity, and from when until when
	// it holds, are left to the caller. An error that is a *rig.Refusal says what stands
	// against it and what to do.
	Record() (rig.Record, error)
}

// Reply is what a procedure thinks of the last thing it was given. The zero Reply has
// nothing to say.
type Reply struct {
	Accepted bool
	// Text is one line for people: figures, or why not and what to do.
	Text string
	// Wait, of a line: it cannot be judged yet; give it again with more readings.
	Wait bool
}

func accepted(format string, args ...any) Reply {
	return Reply{Accepted: true, Text: fmt.Sprintf(format, args...)}
}

func refused(format string, args ...any) Reply { return Reply{Text: fmt.Sprintf(format, args...)} }

// orders carries out a line typed in a procedure of holds, which understands back and
// nothing else; back says what it took away, false when there is nothing.
func orders(text string, back func() (what string, ok bool)) Reply {
	switch strings.ToLower(strings.TrimSpace(text)) {
	case "":
		return Reply{}
	case "back":
		if what, ok := back(); ok {
			return accepted("%s no longer counts", what)
		}
		return refused("nothing has been accepted yet that could be taken back")
	}
	return refused("%q is not understood: type back to take the last hold away; all else the gauge sees by itself", text)
}
