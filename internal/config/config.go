package config

import (
	"errors"
	"fmt"
	"net"
	"strings"

	"boretight/internal/gauge"
)

// DefaultListen is where the page is served when nothing else is told. A free port
// is taken instead when this one is in use.
const DefaultListen = "127.0.0.1:8417"

// Config is what serve is told.
type Config struct {
	// Bench names the bench on the page, in metrics and in records.
	Bench string `toml:"bench"`
	// Listen is the address of the page; empty means [DefaultListen] or a free port.
	Listen string `toml:"listen"`
	// Token is demanded of every request; needed off loopback.
	Token string `toml:"token"`
	// TLSCert and TLSKey are the PEM files of the certificate with which others are
	// served; empty means one of the program's own making.
	TLSCert string `toml:"tls-cert"`
	TLSKey  string `toml:"tls-key"`
	// Hosts are further names under which the page may be asked for.
	Hosts []string `toml:"hosts"`
	// Ledger is the ledger's file; empty means the one in the data folder.
	Ledger string `toml:"ledger"`
	// Copies is the folder that takes a daily copy of the ledger; empty means none.
	Copies string `toml:"copies"`
	// Gauges are addresses, each [NAME=]ADDRESS.
	Gauges []string `toml:"gauges"`
	// Shop is the shop itself, and its units.
	Shop Shop `toml:"shop"`
	// Measure is what holds are measured against.
	Measure Measure `toml:"measure"`
	// Labels are what is held.
	Labels Labels `toml:"labels"`
	// Rig names the rig's parts.
	Rig Rig `toml:"rig"`
}

// Default returns what holds when nothing is told.
func Default() Config { return Config{Bench: "bench", Shop: DefaultShop()} }

// Addresses returns the gauges' addresses, parsed.
func (c Config) Addresses() ([]gauge.Address, error) {
	var faults []error
	addresses := make([]gauge.Address, 0, len(c.Gauges))
	for _, g := range c.Gauges {
		a, err := gauge.ParseAddress(g)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		addresses = append(addresses, a)
	}
	return addresses, errors.Join(faults...)
}

// Validate returns all faults at once, each with its key, its value and what is allowed.
func (c Config) Validate() error {
	var faults []error
	if name := strings.TrimSpace(c.Bench); name == "" || len(name) > maxBench {
		faults = append(faults, fmt.Errorf("bench = %q: want a name of 1 to %d letters", c.Bench, maxBench))
	}
	if c.Listen != "" {
		if _, _, err := net.SplitHostPort(c.Listen); err != nil {
			faults = append(faults, fmt.Errorf("listen = %q: want HOST:PORT, such as %s", c.Listen, DefaultListen))
		}
	}
	if c.Token != "" && len(c.Token) < minToken {
		faults = append(faults, fmt.Errorf("token: has %d letters, want at least %d", len(c.Token), minToken))
	}
	if (c.TLSCert == "") != (c.TLSKey == "") {
		faults = append(faults, errors.New("tls-cert and tls-key go together: tell both or neither"))
	}
	if _, err := c.Addresses(); err != nil {
		faults = append(faults, err)
	}
	return errors.Join(append(faults, c.Shop.Validate(), c.Measure.Validate(), c.Labels.Validate(), c.Rig.Validate())...)
}

const (
	// maxBench keeps the metrics' label short.
	maxBench = 40
	// minToken makes a token that cannot be tried out.
	minToken = 12
)
