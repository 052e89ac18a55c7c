package air_test

import (
	"fmt"
	"math"

	"boretight/internal/air"
)

// What an even gap of 20 µm under a pad leaks at 2.5 kPa of suction, and the gap
// that a measured throughput stands for.
func Example() {
	room := air.Conditions{Sign: air.Suction, Difference: 2500, Ambient: 101325, Temperature: 293.15}
	seat := air.Seat{Hole: 8e-3, Land: 0.8e-3}
	around := math.Pi * seat.MeanDiameter()
	q := air.PlateGap(around, seat.Land, 20e-6, air.Viscosity(room.Temperature)).Throughput(room)
	fmt.Printf("%.3f Pa·m³/s\n", q)
	fmt.Printf("%.1f µm\n", 1e6*seat.EquivalentGap(q, 0, room))
	// Output:
	// 0.317 Pa·m³/s
	// 20.0 µm
}
