package config_test

import (
	"fmt"

	"boretight/internal/config"
)

func ExampleEdit() {
	text := []byte("bench = \"window\"   # by the door\n\n[rig]\nhose = \"clear 4 mm\"\n")
	edited, err := config.Edit(text, config.Set("gauges", []string{"serial:COM5"}), config.Set("rig.hose", "black"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Print(string(edited))
	// Output:
	// bench = "window"   # by the door
	// gauges = ["serial:COM5"]
	//
	// [rig]
	// hose = "black"
}
