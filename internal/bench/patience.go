package bench

import "time"

// A disk that does not answer must neither keep a verdict from a person for long nor stop
// the readings. A hold waits for it once, from its end on, for all that is kept of it: a
// hold that others held up has used its time and gets little more, so that those waiting
// become fewer again.
const (
	// keepPatience is how long after its end a hold and its trial may wait for the disk, and
	// commitPatience is the share of the hold alone: the recorder's queue of ten seconds and
	// some more.
	keepPatience   = 20 * time.Second
	commitPatience = 15 * time.Second
	// leastPatience is what a hold gets that has waited for the holds before it.
	leastPatience = 2 * time.Second
	// drainPatience is how long the end of a run waits for a gauge's last holds together.
	drainPatience = 20 * time.Second
)

// patience is how long what is kept of a hold may still wait for the disk.
func (e ended) patience() time.Duration {
	return max(leastPatience, keepPatience-time.Since(e.handed))
}
