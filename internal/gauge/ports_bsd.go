//go:build unix && !linux

package gauge

func holderOf(string, int) string { return "" }

// stableName is empty: names of ports hold the serial number of the USB device here.
func stableName(string) string { return "" }
