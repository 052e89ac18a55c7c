package sim_test

import (
	"bufio"
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

func ExampleScript() {
	column := sim.WaterColumn{
		Place:  sim.Place{Latitude: 52.1, Altitude: 40},
		Levels: []sim.Level{{Height: -0.25, Ramp: 0.5, Seconds: 2}},
	}
	scenes := []sim.Scene{column}
	gauge := sim.Script{
		Serial: "HX-0417", Sensor: sim.Sensor{Span: 0.015, Step: 0.5, Min: -7500, Max: 7500}, Speed: 1000,
		Next: func() sim.Scene {
			if len(scenes) == 0 {
				column.From = -0.25
				return sim.Idle(column)
			}
			next := scenes[0]
			scenes = scenes[1:]
			return next
		},
	}.Open()
	defer gauge.Close()
	lines := bufio.NewScanner(gauge)
	for range 200 {
		lines.Scan()
	}
	fmt.Printf("%.1f Pa is read as\n%s\n", column.Pressure(-0.25), lines.Text())
	// Output: -2445.8 Pa is read as
	// $BTRD,198,1980000,-2482.5,,00*0E7E
}
