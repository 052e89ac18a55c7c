//go:build !linux

package gauge

import "runtime"

// lookAround knows the system; nothing more can be seen here without opening ports.
func lookAround(string, Fault) scene { return scene{system: runtime.GOOS} }
