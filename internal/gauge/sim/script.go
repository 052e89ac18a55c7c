package sim

import "time"

// Script is a gauge that sees one scene after another, as whoever holds it decides: a
// day at a bench, in which a column is raised, then a joint is drawn. [Script.Open]
// switches it on.
type Script struct {
	// Serial number of the gauge, as its BTID frames say it.
	Serial string
	// Sensor of the gauge. Those of the scenes do not count: it is one and the same gauge
	// all day, whose noise, play and wandering zero go on from scene to scene.
	Sensor Sensor
	// Seed of the noise while the gauge idles. Other scenes have theirs, so that a day
	// with more waiting in it gives the same holds.
	Seed uint64
	// Next returns what the gauge sees next. It is called by Read, once the scene before
	// has been read, and must not return nil; [Idle] bridges a wait.
	Next func() Scene
	// Speed is how many times faster than it happens the day is sent; 0 means 1. The
	// gauge's own clock tells the time in which it happens.
	Speed float64
}

// Scene is what a gauge sees for a while: a [Scenario], a [WaterColumn] or [Idle].
type Scene interface {
	// on makes the sensor go through the scene, from where it was before, if anywhere.
	// The seed is for scenes that have none.
	on(sensor Sensor, seed uint64, before *reader) (*reader, error)
}

// Idle is a tenth of a second in which nothing happens: a column stays at the height that
// it has at its start, From; 0 is a gauge that is open to the room.
type Idle WaterColumn

const idle = 100 * time.Millisecond

func (i Idle) on(sensor Sensor, seed uint64, before *reader) (*reader, error) {
	c := WaterColumn(i)
	c.Levels, c.Seed = []Level{{Height: c.From, Seconds: idle.Seconds()}}, seed
	return c.on(sensor, seed, before)
}

// Open switches the gauge on.
func (s Script) Open() *Device {
	sensor := s.Sensor.withDefaults()
	if s.Speed == 0 {
		s.Speed = 1
	}
	stream := newStream(sensor.identity(s.Serial), s.Seed)
	stream.scene = func(n int, before *reader) (*reader, error) {
		return s.Next().on(sensor, s.Seed+uint64(n), before)
	}
	return newDevice(s.Serial, s.Speed, stream)
}

func (s Scenario) on(sensor Sensor, _ uint64, before *reader) (*reader, error) {
	s.Sensor = sensor
	r, _, err := s.read(before)
	return r, err
}

func (c WaterColumn) on(sensor Sensor, _ uint64, before *reader) (*reader, error) {
	c.Sensor = sensor
	r, _, err := c.read(before)
	return r, err
}
