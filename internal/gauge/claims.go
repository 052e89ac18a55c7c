package gauge

import (
	"path/filepath"
	"runtime"
	"strings"
	"sync"
)

// Claims is who has which port, and where which gauge was met. The gauges of one
// program share it, so that none takes another's port and so that two whose ports
// have changed names find each other's. Make one with [NewClaims]; it may be used
// from any goroutine.
type Claims struct {
	mu     sync.Mutex
	ports  map[string]*memory // who has the port open
	wanted map[*memory]string // serial number of the gauge that each reads
	met    map[string]string  // port at which a gauge was last met, by serial number
}

// NewClaims returns an empty registry.
func NewClaims() *Claims {
	return &Claims{ports: map[string]*memory{}, wanted: map[*memory]string{}, met: map[string]string{}}
}

// take claims a port. If it is another's, it returns that one's label and false.
func (c *Claims) take(port string, m *memory) (holder string, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if other := c.ports[port]; other != nil {
		return other.label, false
	}
	c.ports[port] = m
	return "", true
}

// release gives a port back.
func (c *Claims) release(port string, m *memory) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.ports[port] == m {
		delete(c.ports, port)
	}
}

// want notes which gauge m reads, by its serial number.
func (c *Claims) want(serial string, m *memory) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.wanted[m] = serial
}

// wantedBy returns the label of another gauge of this program that reads the one
// with the serial number, empty if none does.
func (c *Claims) wantedBy(serial string, m *memory) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	for other, wanted := range c.wanted {
		if other != m && wanted == serial {
			return other.label
		}
	}
	return ""
}

// meet notes at which port a gauge answered.
func (c *Claims) meet(serial, port string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.met[serial] = port
}

// lastMet returns the port at which a gauge answered last, empty if it never did.
func (c *Claims) lastMet(serial string) string {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.met[serial]
}

// realPort returns the one name of a port that may have several: what a link leads
// to or, on Windows, the name without prefix in capitals. A name that leads nowhere
// is returned as it is.
func realPort(name string) string {
	if runtime.GOOS == "windows" {
		return comName(name)
	}
	if target, err := filepath.EvalSymlinks(name); err == nil {
		return target
	}
	return name
}

// comName returns the name of a Windows port as the system lists it: the serial
// library puts the prefix that COM10 and above need before any name without it.
func comName(name string) string {
	return strings.ToUpper(strings.TrimPrefix(name, `\\.\`))
}
