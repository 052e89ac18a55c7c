package quantity_test

import (
	"fmt"

	"boretight/internal/quantity"
)

func Example() {
	at, err := quantity.ParsePressure("10 inH2O")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(at, float64(at))

	_, err = quantity.ParseVolume("34,2 ml")
	fmt.Println(err)
	// Output:
	// 2.49089 kPa 2490.8891
	// parse volume "34,2 ml": decimal comma (write 34.2, not 34,2)
}

// A limit in sccm becomes a throughput when the temperature of the gas is known.
func ExampleLeakRate_At() {
	limit, err := quantity.ParseLeakRate("2.5 sccm")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(limit, "=", limit.At(quantity.FromCelsius(20)))
	// Output: 2.5 sccm = 0.004531 Pa·m³/s
}

func ExampleRounded() {
	value, u := quantity.Rounded(2.1649, 0.0223)
	fmt.Println(value, "±", u, "sccm")
	// Output: 2.165 ± 0.022 sccm
}
