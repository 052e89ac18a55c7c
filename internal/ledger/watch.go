package ledger

import "time"

// Watch tells dead writers from living ones by watching their beats. It is for
// one goroutine. The zero Watch is ready.
type Watch struct {
	seen map[string]sighting
}

type sighting struct {
	beat  int64
	since time.Time
}

// Dead returns those holds whose writer's beat has stood still for at least
// [Lease], by the monotonic clock in now. A first look finds none.
func (w *Watch) Dead(holds []OpenHold, now time.Time) []OpenHold {
	seen := make(map[string]sighting)
	var dead []OpenHold
	for _, h := range holds {
		s, ok := w.seen[h.Writer]
		if !ok || s.beat != h.Beat {
			s = sighting{h.Beat, now}
		}
		seen[h.Writer] = s
		if now.Sub(s.since) >= Lease {
			dead = append(dead, h)
		}
	}
	w.seen = seen
	return dead
}
