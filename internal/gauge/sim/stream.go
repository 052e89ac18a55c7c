package sim

import (
	"bytes"
	"math"
	"math/rand/v2"
	"time"

	"boretight/internal/trace"
)

// identityEvery is the pause between two BTID frames.
const identityEvery = 5 * time.Second

// stream makes the lines of a device in order, each with the time at which it is
// due. It knows no clock.
type stream struct {
	program program
	seed    uint64
	random  *rand.Rand // of the line's damage

	loop     int
	readings []trace.Reading // of the present loop, not yet told
	start    time.Duration   // of the present loop
	end      time.Duration   // of the present loop
	first    uint32          // seq of the present loop's first instant
	period   time.Duration

	identify time.Duration // when the next BTID is due
}

func newStream(p program, seed uint64) *stream {
	return &stream{
		program: p, seed: seed,
		random: rand.New(rand.NewPCG(seed, math.MaxUint64)),
		period: time.Duration(float64(time.Second) / p.sensor().Rate),
	}
}

// due is when the next line is.
func (s *stream) due() (time.Duration, error) {
	for len(s.readings) == 0 {
		if err := s.turn(); err != nil {
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
		return identityFrame(dst, s.program.identity())
	}
	s.readings = s.readings[1:]
	// Lost readings leave a gap in the count, as they would on a real line.
	seq := s.first + uint32((r.T+s.period/2)/s.period)
	r.T += s.start
	return s.spoil(dst, readingFrame(nil, seq, r, s.program.sensor().Step))
}

// turn computes the next loop.
func (s *stream) turn() error {
	scenario := s.program.scenario(s.seed, s.loop)
	tr, _, err := scenario.Run()
	if err != nil {
		return err
	}
	phases := schedule(scenario.Holds)
	length := time.Duration(phases[len(phases)-1].end * float64(time.Second))
	s.first += uint32((s.end - s.start) / s.period)
	s.start = s.end
	s.end += (length/s.period + 1) * s.period
	s.readings = tr.Readings
	s.loop++
	return nil
}

// spoil does to a line what a bad cable does, to the program's share of lines.
func (s *stream) spoil(dst, line []byte) []byte {
	if s.program.damage == 0 || s.random.Float64() >= s.program.damage {
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
