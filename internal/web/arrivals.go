package web

import (
	"net"
	"net/http"
	"sync"
	"time"
)

const (
	// settleAtMost is how long the end of a page waits for those who have just come; a
	// browser may well connect and say nothing.
	settleAtMost = 250 * time.Millisecond
	// settleEvery is how often they are looked at.
	settleEvery = 5 * time.Millisecond
)

// arrivals is the connections that have not said anything yet. A server that is shutting
// down hangs up on whose request comes in just then, without a word, and a browser that
// was sent on to the page by the answer before shows an error instead of it.
type arrivals struct {
	mu   sync.Mutex
	came map[net.Conn]struct{}
}

// note is a server's ConnState.
func (a *arrivals) note(c net.Conn, s http.ConnState) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if s != http.StateNew {
		delete(a.came, c)
		return
	}
	if a.came == nil {
		a.came = map[net.Conn]struct{}{}
	}
	a.came[c] = struct{}{}
}

func (a *arrivals) none() bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	return len(a.came) == 0
}

// settle waits until all have said something, and a moment more in which the server
// begins with what they said.
func (a *arrivals) settle() {
	tick := time.NewTicker(settleEvery)
	defer tick.Stop()
	before := false
	for range int(settleAtMost / settleEvery) {
		now := a.none()
		if before && now {
			return
		}
		before = now
		<-tick.C
	}
}
