package decay_test

import (
	"fmt"

	"boretight/internal/decay"
	"boretight/internal/gauge/sim"
	"boretight/internal/hold"
)

// A simulated clarinet joint whose one seat lets 6 mPa·m³/s through at 2.5 kPa of suction.
func ExampleFit() {
	air := sim.Air{Ambient: 100e3, Temperature: 293.15}
	leak, err := sim.NewLeak(6e-3, 0.1, 2500, sim.Suction, air)
	if err != nil {
		fmt.Println(err)
		return
	}
	tr, _, err := sim.Scenario{
		Air: air, Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7e-3, 40e-6)}}, Leaks: []sim.Leak{leak},
		Holds: []sim.Hold{{
			Rest: 2, Sign: sim.Suction, Draw: sim.Draw{Kind: sim.Smooth, To: 2900, Seconds: 1}, Seconds: 10, After: 2,
		}},
		Sensor: sim.Sensor{Zero: 12, Noise: 1, Step: 0.5},
	}.Run()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range hold.Find(tr) {
		r := decay.Fit(h, decay.Setup{
			Volume: decay.Input{Value: 40e-6, U: 0.4e-6}, Bore: decay.Input{Value: 14e-3},
			Ambient: decay.Input{Value: 100e3, U: 100}, Temperature: decay.Input{Value: 293.15, U: 0.5},
		})
		if r.LeakRate == nil {
			fmt.Println(r.Notes)
			continue
		}
		fmt.Printf("%v at %.0f Pa: %.1f mPa·m³/s\n", r.Sign, r.At, 1e3*r.LeakRate.Value)
	}
	// Output: suction at 2500 Pa: 6.0 mPa·m³/s
}
