package sim_test

import (
	"fmt"

	"boretight/internal/gauge/sim"
)

func ExampleScenario_Run() {
	leak, err := sim.NewLeak(3e-3, 0.1, sim.StatedPa, sim.Suction, sim.Air{})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := sim.Scenario{
		Joint: sim.Joint{Segments: []sim.Segment{sim.Tube(7.4e-3, 39e-6), sim.Hose(0.3)}},
		Leaks: []sim.Leak{leak},
		Holds: []sim.Hold{{
			Rest: 1.5, Draw: sim.Draw{Kind: sim.Strokes, To: 2700}, Seconds: 10, After: 1.5,
		}},
		Sensor: sim.Sensor{Noise: 1, Lag: 5e-3, Step: 0.5},
		Seed:   1,
	}
	tr, truths, err := s.Run()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d readings; isolated at %.1f s; %.1e Pa·m³/s; time constant %.1f s\n",
		len(tr.Readings), truths[0].Isolated, truths[0].LeakRate, truths[0].TimeConstant)
	// Output: 1401 readings; isolated at 2.5 s; 3.0e-03 Pa·m³/s; time constant 34.3 s
}

func ExampleOpen() {
	gauge, err := sim.Open("oboe-upper", 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer gauge.Close()
	line := make([]byte, 200)
	n, err := gauge.Read(line)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%q\n", line[:n])
	// Output: "$BTID,1,SIM-OBOE-UPPER,G,-7500,7500,0.5,100*B9D2\r\n"
}
