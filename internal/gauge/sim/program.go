package sim

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync/atomic"
)

// NamedScenario is one of the devices that [Open] knows.
type NamedScenario struct {
	Name string
	// Description for people, one line.
	Description string
	// Truth is what a perfect measurement of its first hold would find, with the
	// volume, bore, ambient pressure and temperature that a repairer would tell.
	// For a silent device it is zero.
	Truth Truth
}

// Names lists the devices, those for a first look first.
func Names() []NamedScenario {
	var names []NamedScenario
	for _, p := range programs() {
		n := NamedScenario{Name: p.name, Description: p.description}
		if !p.silent {
			// The scenarios of the table are sound, so no error can come.
			if truths, err := p.scenario(0, 0, nil).Truths(); err == nil {
				n.Truth = truths[0]
			}
		}
		names = append(names, n)
	}
	return names
}

// program is what a device plays, loop after loop.
type program struct {
	name, description string
	joint             Joint
	// leaks at the stated pressure difference under suction, in the room.
	leaks []programLeak
	hold  float64 // s, of the first loop
	pause float64 // s, of further rest after each later loop
	// course is what the leaks are multiplied with, stage after stage of StageLoops
	// loops each and then over again; nil is 1 always.
	course []float64
	// gauge changes the usual gauge, if not nil.
	gauge    func(*Sensor)
	damage   float64 // fraction of lines damaged on their way
	silent   bool
	absolute bool
}

type programLeak struct {
	seat  string
	sccm  float64
	share float64 // inertial
}

// StageLoops is how many loops a device plays before its joint changes, where it does.
const StageLoops = 3

// stage is what the leaks are multiplied with in a loop.
func (p program) stage(loop int, told *Repairs) float64 {
	if len(p.course) == 0 {
		return 1
	}
	stage, ok := told.stage()
	if !ok {
		stage = loop / StageLoops
	}
	return p.course[stage%len(p.course)]
}

// Repairs tells a device how far the work on its joint has come, so that a simulated joint
// can follow the person who works on it. Its methods may be called from any goroutine; a
// nil Repairs tells nothing.
type Repairs struct{ told atomic.Int64 } // stages from 1; 0 when nothing was told

// Stages of a repair: as found, half done, as left.
const (
	StageFound = iota
	StageHalf
	StageLeft
)

// Tell sets the stage; the holds after the present one are of it.
func (r *Repairs) Tell(stage int) { r.told.Store(int64(stage) + 1) }

func (r *Repairs) stage() (stage int, told bool) {
	if r == nil {
		return 0, false
	}
	n := r.told.Load()
	return int(n) - 1, n > 0
}

// programRoom is the room that every device stands in.
func programRoom() Air { return Air{Ambient: 98.3e3, Temperature: 295.65} }

// rig is hose and stoppers up to the valve: 0.5 m of hose and a gauge chamber.
func rig() []Segment {
	return []Segment{Hose(0.5), {Radius: 3e-3, Volume: 2.9e-6, Rings: 20}}
}

func programs() []program {
	return []program{
		{
			name: "oboe-upper", description: "oboe upper joint, leaks a little (2.1 sccm)", hold: 7,
			joint: Joint{Segments: append(Taper(2.4e-3, 5.3e-3, 11.5e-6, 4), rig()...)},
			leaks: []programLeak{{"G#", 1.3, 0.06}, {"C-D trill", 0.8, 0.03}},
		},
		{
			name: "oboe-repair", description: "oboe upper joint as found (3.6 sccm), half seated (2.5) and as left (1.8), three holds each", hold: 7,
			joint:  Joint{Segments: append(Taper(2.4e-3, 5.3e-3, 11.5e-6, 4), rig()...)},
			leaks:  []programLeak{{"G#", 2.2, 0.06}, {"C-D trill", 1.4, 0.03}},
			course: []float64{1, 2.5 / 3.6, 0.5}, pause: 5,
		},
		{
			name: "clarinet-upper", description: "clarinet upper joint, the G♯ pad leaks (8 sccm)", hold: 8,
			joint: Joint{Segments: append([]Segment{Tube(7.4e-3, 39e-6)}, rig()...)},
			leaks: []programLeak{{"G#", 7.2, 0.15}, {"register", 0.8, 0.05}},
		},
		{
			name: "flute-body", description: "flute body, tight (0.15 sccm)", hold: 10,
			joint: Joint{Segments: append([]Segment{Tube(9.5e-3, 99e-6)}, rig()...)},
			leaks: []programLeak{{"thumb B", 0.15, 0}},
		},
		{
			name: "bassoon-wing", description: "bassoon wing joint, two seats leak (5 sccm)", hold: 9,
			joint: Joint{Segments: append(Taper(4.3e-3, 7.75e-3, 56e-6, 4), rig()...)},
			leaks: []programLeak{{"C#", 3, 0.3}, {"A vent", 2, 0.5}},
		},
		{
			name: "alto-body", description: "alto saxophone body, wide and slow to settle (60 sccm)", hold: 20,
			joint: Joint{Segments: append(Taper(12e-3, 33e-3, 1290e-6, 5), rig()...)},
			leaks: []programLeak{{"G#", 40, 0.25}, {"low B", 20, 0.1}},
		},
		{
			name: "orifice", description: "a pierced pad: a small hole in a clarinet-sized joint (16 sccm)", hold: 7,
			joint: Joint{Segments: append([]Segment{Tube(7.4e-3, 39e-6)}, rig()...)},
			leaks: []programLeak{{"pierced pad", 16, 1}},
		},
		{
			name: "noisy", description: "clarinet upper joint behind a noisy, drifting gauge", hold: 12,
			joint: Joint{Segments: append([]Segment{Tube(7.4e-3, 39e-6)}, rig()...)},
			leaks: []programLeak{{"G#", 3, 0.1}},
			gauge: func(s *Sensor) { s.Noise, s.Correlated, s.Memory, s.Step = 8, 4, 0.9, 1 },
		},
		{
			name: "flaky", description: "oboe upper joint on a bad cable: damaged lines, lost readings, noise on the line", hold: 8,
			joint:  Joint{Segments: append(Taper(2.4e-3, 5.3e-3, 11.5e-6, 4), rig()...)},
			leaks:  []programLeak{{"G#", 2.1, 0.05}},
			gauge:  func(s *Sensor) { s.Lost, s.Burst = 0.05, 3 },
			damage: 0.02,
		},
		{
			name: "absolute", description: "clarinet upper joint on a gauge of absolute pressure", hold: 8,
			joint: Joint{Segments: append([]Segment{Tube(7.4e-3, 39e-6)}, rig()...)},
			leaks: []programLeak{{"G#", 3, 0.1}}, absolute: true,
			gauge: func(s *Sensor) { s.Absolute, s.Zero, s.Min, s.Max, s.Step = true, 40, 30e3, 110e3, 1 },
		},
		{name: "silent", description: "a gauge that never says a word", silent: true},
	}
}

func programNamed(name string) (program, error) {
	all := programs()
	i := slices.IndexFunc(all, func(p program) bool { return p.name == name })
	if i < 0 {
		known := make([]string, len(all))
		for i, p := range all {
			known[i] = p.name
		}
		return program{}, fmt.Errorf("open simulated gauge %q: no such name (known: %s)", name, strings.Join(known, ", "))
	}
	return all[i], nil
}

// identity is the BTID of the device.
func (p program) identity() identity {
	return p.sensor().identity("SIM-" + strings.ToUpper(p.name))
}

func (p program) sensor() Sensor {
	s := Sensor{
		Rate: 100, Jitter: 1e-4, Lag: 6e-3, Zero: 13.6, Noise: 1.2, Step: 0.5,
		Min: -7500, Max: 7500, Thermometer: true, WarmBy: 0.15,
	}
	if p.gauge != nil {
		p.gauge(&s)
	}
	return s
}

// scenario is the loop's hold. The first is brisk, so that somebody who has just
// opened the program sees a result soon; later ones vary as a person's would.
func (p program) scenario(seed uint64, loop int, told *Repairs) Scenario {
	d := dice{rand.New(rand.NewPCG(seed, uint64(loop)))}
	air := programRoom()
	hold := Hold{
		Rest: 1.5, Seconds: p.hold, After: 1.5, Vent: Vent{Tau: 0.04},
		Draw: Draw{Kind: Strokes, To: 1.08 * StatedPa, Seconds: 1, Strokes: 3},
	}
	vary := p.stage(loop, told)
	if loop > 0 {
		hold.Rest = d.even(1.5, 4)
		hold.Seconds *= d.even(0.9, 1.4)
		// The next hold is made when this one's readings are told: the pause comes before, so
		// that whoever works on the joint has time to tell it.
		hold.After = p.pause + d.even(1.8, 3)
		hold.Draw.To = StatedPa * d.even(1.02, 1.15)
		hold.Draw.Kind = pick(d, Strokes, Strokes, Smooth, Syringe)
		hold.Draw.Seconds = d.even(0.8, 1.6)
		vary *= d.even(0.98, 1.02) // a pad never seats twice alike
	}
	s := Scenario{
		Name: p.name, Air: air, Joint: p.joint, Holds: []Hold{hold},
		Sensor: p.sensor(), Seed: d.Uint64(),
	}
	perSCCM := sccm * air.Temperature / celsius20
	for _, l := range p.leaks {
		// The table above only asks for what a seat can do.
		if leak, err := NewLeak(l.sccm*perSCCM*vary, l.share, StatedPa, Suction, air); err == nil {
			leak.Name = l.seat
			s.Leaks = append(s.Leaks, leak)
		}
	}
	return s
}
