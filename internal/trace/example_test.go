package trace_test

import (
	"fmt"
	"strings"

	"boretight/internal/trace"
)

func Example() {
	tr, err := trace.Read(strings.NewReader("note,pressure_pa,t_s\nrest,16.6,0\ndraw,-1250,0.5\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(tr.Kind, len(tr.Readings))
	var file strings.Builder
	if err := tr.Write(&file); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%q\n", file.String())
	// Output:
	// gauge 2
	// "t_s,pressure_pa\r\n0,16.6\r\n0.5,-1250\r\n"
}
