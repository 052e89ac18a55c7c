package main

import (
	"context"
	"fmt"
	"strings"
	"text/tabwriter"

	"boretight/internal/gauge"
	"boretight/internal/gauge/sim"
)

type portsCmd struct {
	Listen bool `help:"Listen at each serial port and say what is heard; this resets some devices."`
	JSON   bool `name:"json" help:"Print one JSON object a port, one a line."`
}

// Help shows an example.
func (portsCmd) Help() string {
	return `Example:
  boretight ports --listen

Lists serial ports, USB devices first, and the simulated gauges. What stands first in
a line is what to give to --gauge.

With --listen it opens each serial port that nobody uses, listens for some seconds at
the usual rates, and says which has a gauge; exit status 4 when none has.`
}

// portLine is a port as --json prints it.
type portLine struct {
	Schema      string `json:"schema"`
	Address     string `json:"address"`
	Stable      string `json:"stable,omitempty"`
	Description string `json:"description,omitempty"`
	USB         bool   `json:"usb"`
	VID         string `json:"vid,omitempty"`
	PID         string `json:"pid,omitempty"`
	Serial      string `json:"serial,omitempty"`
	Product     string `json:"product,omitempty"`
	Note        string `json:"note,omitempty"`
	Simulated   bool   `json:"simulated"`
	// VolumeM3 is what a simulated joint and its rig enclose.
	VolumeM3 float64 `json:"volume_m3,omitempty"`
}

func (c *portsCmd) run(ctx context.Context, a app) (status, error) {
	if c.Listen {
		return c.listen(ctx, a)
	}
	// Simulated gauges are there even when the system's list is not.
	ports, failure := gauge.Ports()
	table := tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0)
	for _, p := range ports {
		if !c.JSON {
			fmt.Fprintf(table, "%s\t%s\n", p.Address(), describe(p))
			continue
		}
		if err := printJSON(a.out, portLine{
			Schema: "boretight/port/1", Address: p.Address().String(), Stable: p.Stable, Description: p.Description,
			USB: p.USB, VID: p.VID, PID: p.PID, Serial: p.Serial, Product: p.Product,
			Note: p.Note, Simulated: p.Scenario != "", VolumeM3: simulatedVolume(p.Scenario),
		}); err != nil {
			return failed, err
		}
	}
	if err := table.Flush(); err != nil {
		return failed, fmt.Errorf("print ports: %w", err)
	}
	if failure != nil {
		return failed, failure
	}
	return done, nil
}

// describe says in words what a port is.
func describe(p gauge.Port) string {
	var parts []string
	if p.Description != "" {
		parts = append(parts, p.Description)
	}
	if p.Product != "" {
		parts = append(parts, p.Product)
	}
	if p.USB {
		parts = append(parts, strings.TrimSpace(fmt.Sprintf("USB %s:%s %s", p.VID, p.PID, p.Serial)))
	}
	if p.Stable != "" {
		parts = append(parts, "also "+p.Stable)
	}
	if p.Note != "" {
		parts = append(parts, p.Note)
	}
	if v := simulatedVolume(p.Scenario); v > 0 {
		parts = append(parts, volumeToTell(v))
	}
	return strings.TrimSpace(strings.Join(parts, ", "))
}

// simulatedVolume is what the joint of a simulated gauge and its rig enclose in m³; 0 of
// one that has none, or that is not known.
func simulatedVolume(name string) float64 {
	for _, s := range sim.Names() {
		if s.Name == name {
			return s.Truth.Volume
		}
	}
	return 0
}

// volumeToTell says how a simulated joint is measured.
func volumeToTell(m3 float64) string { return fmt.Sprintf("--volume %.4gml", m3*1e6) }
