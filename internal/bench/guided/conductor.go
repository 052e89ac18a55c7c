package guided

import (
	"context"
	"sync"
	"time"

	"boretight/internal/hold"
	"boretight/internal/trace"
)

const (
	// recentSpan is how many seconds of readings are kept for what is asked of them now.
	recentSpan = 10 * time.Second
	// staleAfter is how long after the last reading a gauge counts as not heard.
	staleAfter = 2 * time.Second
	// askAgain is how soon a line that could not be judged is given again.
	askAgain = 100 * time.Millisecond
)

// Conductor leads one procedure at a live bench, of which it is a follower: Read and Held
// may be called from any goroutine and never block. Use [NewConductor].
type Conductor struct {
	now func() time.Time

	mu     sync.Mutex
	recent []trace.Reading
	heard  time.Time // of the newest reading
	held   []kept
	wake   chan struct{} // holds or the first reading have come
}

// kept is a hold that is on the disk.
type kept struct {
	id   string
	hold *hold.Hold
}

// NewConductor returns a conductor; now is the clock by which a gauge is not heard any
// more, nil is time.Now.
func NewConductor(now func() time.Time) *Conductor {
	if now == nil {
		now = time.Now
	}
	return &Conductor{now: now, wake: make(chan struct{}, 1)}
}

// Read takes a reading.
func (c *Conductor) Read(_ string, r trace.Reading) {
	c.mu.Lock()
	first := c.heard.IsZero()
	c.heard = c.now()
	c.recent = append(c.recent, r)
	if r.T-c.recent[0].T > 2*recentSpan {
		keep := 0
		for r.T-c.recent[keep].T > recentSpan {
			keep++
		}
		c.recent = append([]trace.Reading(nil), c.recent[keep:]...)
	}
	c.mu.Unlock()
	if first {
		c.stir()
	}
}

// Held takes a hold that is on the disk.
func (c *Conductor) Held(_, id string, h *hold.Hold) {
	c.mu.Lock()
	c.held = append(c.held, kept{id, h})
	c.mu.Unlock()
	c.stir()
}

func (c *Conductor) stir() {
	select {
	case c.wake <- struct{}{}:
	default: // it is to wake up already
	}
}

// newest returns the readings of the last seconds; none when the gauge is not heard.
func (c *Conductor) newest() []trace.Reading {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.now().Sub(c.heard) > staleAfter || len(c.recent) == 0 {
		return nil
	}
	return append([]trace.Reading(nil), c.recent...)
}

// take returns the holds that have come since, and whether any reading ever has.
func (c *Conductor) take() (holds []kept, heard bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	holds, c.held = c.held, nil
	return holds, !c.heard.IsZero()
}

// Lead is what a conductor is given to lead one procedure.
type Lead struct {
	// Begin makes the procedure. It is called with the first reading, and again a little
	// later as long as it returns nil: the gauge has yet to say who it is.
	Begin func() (Procedure, error)
	// Lines are what the person types; closed at the end of input.
	Lines <-chan string
	// Say is told each reply that has a text, and what to do next: at the beginning with
	// no reply, and after each one.
	Say func(r Reply, next string)
}

// Run leads a procedure until it is done or ctx ends, and returns it as far as it came;
// nil if the gauge was never heard. What came before the end of ctx is still taken.
func (c *Conductor) Run(ctx context.Context, lead Lead) (Procedure, error) {
	r := &running{lead: lead, conductor: c}
	again := time.NewTicker(askAgain)
	defer again.Stop()
	for {
		select {
		case <-ctx.Done():
			err := r.heard()
			return r.procedure, err
		case <-c.wake:
			if err := r.heard(); err != nil {
				return nil, err
			}
		case line, ok := <-r.lines:
			r.typed(line, ok)
		case <-again.C:
			if err := r.heard(); err != nil {
				return nil, err
			}
			r.again()
		}
		if r.procedure != nil && r.procedure.Done() {
			return r.procedure, nil
		}
	}
}

// running is a procedure being led.
type running struct {
	lead      Lead
	conductor *Conductor
	procedure Procedure
	held      []kept        // before the procedure began
	lines     <-chan string // nil while none can be taken
	pending   string        // a line that cannot be judged yet
	ended     bool
}

// heard takes the holds that came, and begins the procedure with the first reading.
func (r *running) heard() error {
	holds, heard := r.conductor.take()
	r.held = append(r.held, holds...)
	if r.procedure == nil {
		if !heard {
			return nil
		}
		p, err := r.lead.Begin()
		if err != nil || p == nil {
			return err
		}
		r.procedure, r.lines = p, r.lead.Lines
		r.lead.Say(Reply{}, p.Next())
	}
	for _, h := range r.held {
		r.tell(r.procedure.Held(h.id, h.hold))
	}
	r.held = nil
	return nil
}

// typed takes a line, or the end of lines.
func (r *running) typed(line string, ok bool) {
	if !ok {
		r.lines, r.ended = nil, true
		r.procedure.InputEnded()
		return
	}
	r.pending = line
	r.again()
}

// again gives a line to the procedure; no other is taken until it was judged.
func (r *running) again() {
	if r.pending == "" || r.procedure == nil {
		return
	}
	reply := r.procedure.Line(r.pending, r.conductor.newest())
	if reply.Wait {
		r.lines = nil
		return
	}
	r.pending = ""
	if !r.ended {
		r.lines = r.lead.Lines
	}
	r.tell(reply)
}

func (r *running) tell(reply Reply) {
	if reply.Text != "" {
		r.lead.Say(reply, r.procedure.Next())
	}
}
