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
	// Volume is the effective volume in m³, Bore the mean bore radius in metres:
	// what a repairer would tell the program.
	Volume, Bore float64
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

// truthOf states what is known of hold i before anything is simulated.
func (s Scenario) truthOf(i int, isolated float64) Truth {
	h := s.Holds[i]
	t := Truth{
		StatedPa: s.StatedPa, Sign: h.Sign,
		Volume: s.Joint.EffectiveVolume(), Bore: s.Joint.Bore(),
		Ambient: s.Air.Ambient, Temperature: s.Air.Temperature,
		Isolated: isolated, Vented: math.NaN(), DeltaVented: math.NaN(),
		Disturbed: math.NaN(),
	}
	if !h.Vent.None && h.After > 0 {
		t.Vented = isolated + h.Seconds
	}
	bore := h.Sign.bore(s.Air.Ambient, s.StatedPa)
	var exponent float64
	for _, seat := range s.Leaks {
		q := math.Abs(seat.Throughput(bore, s.Air))
		t.LeakRate += q
		// Δp = Aq + Bq² has the local exponent 1/(1+s); throughputs add.
		exponent += q / (1 + seat.InertialShare(s.StatedPa, h.Sign, s.Air))
	}
	t.LeakRateAfter = t.LeakRate
	if t.LeakRate > 0 {
		t.InertialShare = t.LeakRate/exponent - 1
	}
	t.TimeConstant = s.StatedPa * t.Volume / t.LeakRate
	s.disturb(&t, i, bore)
	return t
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
