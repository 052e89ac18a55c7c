package sim

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"boretight/internal/trace"
)

// identityEvery is the pause between two BTID frames.
const identityEvery = 5 * time.Second

// stream makes the lines of a device in order, each with the time at which it is
// due. It knows no clock.
type stream struct {
	identity identity
	damage   float64    // fraction of lines
	random   *rand.Rand // of the line's damage
	// scene makes the readings of one scene after another. It is given the sensor as the
	// scene before left it, nil at first.
	scene func(n int, before *reader) (*reader, error)
	// stale tells of the scene n, so long after its beginning, that it is to be made anew; nil:
	// of none. What was told of a scene must stand in the new one as well.
	stale func(n int, after time.Duration) bool

	count    int             // of scenes begun
	sensor   *reader         // as the present scene leaves it
	readings []trace.Reading // of the present scene, not yet told
	start    time.Duration   // of the present scene
	end      time.Duration   // of the present scene
	first    uint32          // seq of the present scene's first instant
	period   time.Duration

	identify time.Duration // when the next BTID is due
}

// newStream returns a stream of the given gauge; its scene is yet to be set.
func newStream(id identity, seed uint64) *stream {
	return &stream{
		identity: id,
		random:   rand.New(rand.NewPCG(seed, math.MaxUint64)),
		period:   time.Duration(float64(time.Second) / id.rate),
	}
}

// due is when the next line is.
func (s *stream) due() (time.Duration, error) {
	for len(s.readings) == 0 {
		if err := s.turn(); err != nil {
			return 0, err
		}
	}
	if at := s.readings[0].T; s.stale != nil && s.stale(s.count-1, at) {
		if err := s.again(at); err != nil {
			return 0, err
		}
	}
	return min(s.identify, s.start+s.readings[0].T), nil
}

// next appends the line that is due.
func (s *stream) next(dst []byte) []byte {
	r := s.readings[0]
	if s.identify <= s.start+r.T {
		s.identify += identityEvery
		return identityFrame(dst, s.identity)
	}
	s.readings = s.readings[1:]
	// Lost readings leave a gap in the count, as they would on a real line.
	seq := s.first + uint32((r.T+s.period/2)/s.period)
	r.T += s.start
	return s.spoil(dst, readingFrame(nil, seq, r, s.identity.resolution))
}

// turn computes the next scene. It begins with the instant after the last one that came
// due in the scene before: counted there, since how many fit into a length of time hangs
// on jitter and on rounding.
func (s *stream) turn() error {
	sensor, err := s.scene(s.count, s.sensor)
	if err != nil {
		return err
	}
	s.first += uint32((s.end - s.start) / s.period)
	s.start = s.end
	s.end += time.Duration(sensor.taken) * s.period
	s.sensor, s.readings = sensor, sensor.readings
	s.count++
	return nil
}

// again makes the present scene anew, from a reading on.
func (s *stream) again(from time.Duration) error {
	sensor, err := s.scene(s.count-1, nil)
	if err != nil {
		return err
	}
	s.end = s.start + time.Duration(sensor.taken)*s.period
	s.sensor, s.readings = sensor, slices.DeleteFunc(sensor.readings, func(r trace.Reading) bool { return r.T < from })
	return nil
}

// spoil does to a line what a bad cable does, to the damaged share of lines.
func (s *stream) spoil(dst, line []byte) []byte {
	if s.damage == 0 || s.random.Float64() >= s.damage {
		return append(dst, line...)
	}
	switch s.random.IntN(4) {
	case 0: // one bit turned
		line[s.random.IntN(len(line))] ^= 1 << s.random.IntN(7)
	case 1: // cut short, line end and all
		line = line[:s.random.IntN(len(line))]
	case 2: // line end lost
		line = bytes.TrimRight(line, "\r\n")
	case 3: // a burst of anything before it
		for range 1 + s.random.IntN(40) {
			dst = append(dst, byte(s.random.UintN(256)))
		}
	}
	return append(dst, line...)
}
