package sim

import "math"

// Truth is what a perfect measurement of one hold would find.
type Truth struct {
	// LeakRate is the throughput of all seats at the stated pressure difference,
	// the bore held isothermal at the room's temperature, in Pa·m³/s.
	LeakRate float64
	// LeakRateAfter is the same with every event of the hold in the state it has
	// at the hold's end.
	LeakRateAfter float64
	// TimeConstant is Δp·V/LeakRate in seconds, +Inf for a tight joint.
	TimeConstant float64
	// InertialShare s of all seats together: 0 laminar, 1 orifice.
	InertialShare float64
	// StatedPa is the pressure difference the three belong to, in pascals.
	StatedPa float64
	Sign     Sign
	// Rig and Reference are what hose, stoppers and gauge, and what a reference leak in
	// its fitting add to LeakRate and Volume; each is in them once.
	Rig, Reference Share
	// Volume is the effective volume in m³ at isolation, Bore the mean bore radius in
	// metres: what a repairer would tell the program.
	Volume, Bore float64
	// VolumeAfter is the same at the hold's end, with the plunger where it was left.
	VolumeAfter float64
	// Ambient pressure (Pa) and Temperature (K) as he would tell them.
	Ambient, Temperature float64
	// Isolated and Vented are times on the trace's clock, in seconds; Vented is
	// NaN when the trace has no vent for this hold.
	Isolated, Vented float64
	// DeltaIsolated and DeltaVented are the pressure differences then, in pascals,
	// positive in the direction of the sign.
	DeltaIsolated, DeltaVented float64
	// Disturbed is when the first event touches the hold, on the trace's clock, in
	// seconds; NaN when none does.
	Disturbed float64
}

// Share is what one of several things adds to a hold.
type Share struct {
	LeakRate float64 // Pa·m³/s at the stated pressure difference
	Volume   float64 // m³
}

// Joint is what the joint itself adds to a hold that no syringe is open to: all but the
// rig and the reference leak.
func (t Truth) Joint() Share {
	return Share{
		LeakRate: t.LeakRate - t.Rig.LeakRate - t.Reference.LeakRate,
		Volume:   t.Volume - t.Rig.Volume - t.Reference.Volume,
	}
}

// truthOf states what is known of hold i before anything is simulated.
func (s Scenario) truthOf(i int, isolated float64) Truth {
	h := s.Holds[i]
	t := Truth{
		StatedPa: s.StatedPa, Sign: h.Sign,
		Bore:    s.enclosed().Bore(),
		Ambient: s.Air.Ambient, Temperature: s.Air.Temperature,
		Isolated: isolated, Vented: math.NaN(), DeltaVented: math.NaN(),
		Disturbed: math.NaN(),
	}
	if !h.Vent.None && h.After > 0 {
		t.Vented = isolated + h.Seconds
	}
	bore := h.Sign.bore(s.Air.Ambient, s.StatedPa)
	var exponent float64
	for _, seat := range s.seats() {
		q := math.Abs(seat.Throughput(bore, s.Air))
		t.LeakRate += q
		// Δp = Aq + Bq² has the local exponent 1/(1+s); throughputs add.
		exponent += q / (1 + seat.InertialShare(s.StatedPa, h.Sign, s.Air))
	}
	t.LeakRateAfter = t.LeakRate
	if t.LeakRate > 0 {
		t.InertialShare = t.LeakRate/exponent - 1
	}
	s.share(&t, bore)
	s.fill(&t, i)
	t.TimeConstant = s.StatedPa * t.Volume / t.LeakRate
	s.disturb(&t, i, bore)
	return t
}

// share tells what rig and reference leak add, at the absolute pressure of a bore.
func (s Scenario) share(t *Truth, bore float64) {
	give := 1 + s.Joint.Compliance
	for _, seat := range s.Rig.Leaks {
		t.Rig.LeakRate += math.Abs(seat.Throughput(bore, s.Air))
	}
	t.Rig.Volume = Joint{Segments: s.Rig.Segments}.Volume() * give
	t.Reference.LeakRate = math.Abs(s.Reference.Leak(s.Air).Throughput(bore, s.Air))
	t.Reference.Volume = max(s.Reference.Dead.Volume, 0) * give
}

// fill tells what hold i encloses, the air in the syringe included.
func (s Scenario) fill(t *Truth, i int) {
	events := timedEvents{Events: s.Events, isolated: isolations(schedule(s.Holds), len(s.Holds))}
	rigid := s.enclosed().EffectiveVolume()
	t.Volume = rigid + events.barrel(s.Barrel, t.Isolated)
	t.VolumeAfter = rigid + events.barrel(s.Barrel, t.Isolated+s.Holds[i].Seconds)
}

// disturb enters the events of hold i into its truth.
func (s Scenario) disturb(t *Truth, i int, bore float64) {
	touch := func(from, to float64) {
		if to <= 0 || from >= s.Holds[i].Seconds {
			return
		}
		at := t.Isolated + max(from, 0)
		if math.IsNaN(t.Disturbed) || at < t.Disturbed {
			t.Disturbed = at
		}
	}
	for _, o := range s.Events.Openings {
		if o.Hold != i {
			continue
		}
		end := math.Inf(1)
		if o.Until > 0 {
			end = o.Until + o.Closing
		}
		touch(o.From, end)
		t.LeakRateAfter += o.part(s.Holds[i].Seconds) * math.Abs(o.Leak.Throughput(bore, s.Air))
	}
	for _, p := range s.Events.Plungers {
		if p.Hold == i {
			touch(p.At, p.At+p.Seconds)
		}
	}
	for _, b := range s.Events.Bumps {
		if b.Hold == i {
			touch(b.At, b.At+b.Seconds)
		}
	}
	for _, l := range s.Events.Lamps {
		if l.Hold == i {
			touch(l.At, l.At+l.Seconds)
		}
	}
}
