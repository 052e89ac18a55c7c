package main

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"boretight/internal/gauge"
	"boretight/internal/quantity"
)

// foundLine is what was found at a port as --json prints it.
type foundLine struct {
	Schema  string `json:"schema"`
	Port    string `json:"port"`
	Stable  string `json:"stable,omitempty"`
	USB     bool   `json:"usb"`
	VID     string `json:"vid,omitempty"`
	PID     string `json:"pid,omitempty"`
	Serial  string `json:"serial,omitempty"`
	Product string `json:"product,omitempty"`
	// Heard is one of gauge frames text noise nothing busy forbidden fault.
	Heard gauge.Heard `json:"heard"`
	// Address is what to give to --gauge; empty where there is nothing to listen to.
	Address string `json:"address,omitempty"`
	// Gauge is what it said of itself.
	Gauge *gaugeLine `json:"gauge,omitempty"`
	Lines []string   `json:"lines,omitempty"`
	// Says is what is in the way, or what must be added to the address.
	Says string `json:"says,omitempty"`
}

// gaugeLine is what a gauge says of itself.
type gaugeLine struct {
	Serial       string  `json:"serial"`
	Kind         string  `json:"kind"`
	MinPa        float64 `json:"min_pa"`
	MaxPa        float64 `json:"max_pa"`
	ResolutionPa float64 `json:"resolution_pa"`
	RateHz       float64 `json:"rate_hz"`
}

// listen prints what is heard at each port, as it is heard.
func (c *portsCmd) listen(ctx context.Context, a app) (status, error) {
	result, ports := undecided, 0
	var failure error
	err := gauge.Find(ctx, gauge.FindOptions{}, func(f gauge.Found) {
		ports++
		if f.Address.Scheme != "" {
			result = done
		}
		if c.JSON {
			failure = errors.Join(failure, printJSON(a.out, asFoundLine(f)))
			return
		}
		_, err := fmt.Fprintln(a.out, describeFound(f))
		failure = errors.Join(failure, err)
	})
	if err = errors.Join(err, failure); err != nil {
		return failed, err
	}
	if ports == 0 && ctx.Err() == nil {
		fmt.Fprintln(a.err, "there is no serial port: plug the gauge in, or see whether its cable carries data")
	}
	return result, nil
}

func asFoundLine(f gauge.Found) foundLine {
	p := f.Port
	l := foundLine{
		Schema: "boretight/found/1", Port: p.Device, Stable: p.Stable, USB: p.USB, VID: p.VID, PID: p.PID, Serial: p.Serial, Product: p.Product,
		Heard: f.Heard, Lines: f.Lines,
	}
	if f.Address.Scheme != "" {
		l.Address = f.Address.String()
	}
	if f.Err != nil {
		l.Says = f.Err.Error()
	}
	if id := f.Identity; id.Known {
		l.Gauge = &gaugeLine{Serial: id.Serial, Kind: id.Kind.String(), MinPa: id.MinPa, MaxPa: id.MaxPa, ResolutionPa: id.ResolutionPa, RateHz: id.RateHz}
	}
	return l
}

// describeFound says in a line, and one for each line of text, what was found. What
// stands first in it is what to give to --gauge, where there is a gauge.
func describeFound(f gauge.Found) string {
	p := f.Port
	at := p.Device
	if f.Address.Scheme != "" {
		at = f.Address.String()
	}
	if f.Address.Target == p.Stable {
		p.Stable = "" // it is said
	}
	parts := []string{heardInWords(f)}
	if device := describe(p); device != "" {
		parts = append(parts, device)
	}
	text := at + "  " + strings.Join(parts, "; ")
	for _, line := range f.Lines {
		text += "\n    " + line
	}
	return text
}

func heardInWords(f gauge.Found) string {
	switch f.Heard {
	case gauge.HeardGauge:
		id := f.Identity
		return fmt.Sprintf("gauge %s, %s pressure from %s to %s, %g readings a second",
			id.Serial, id.Kind, quantity.Pressure(id.MinPa), quantity.Pressure(id.MaxPa), id.RateHz)
	case gauge.HeardFrames:
		return "a gauge that does not say who it is"
	case gauge.HeardText:
		if f.Err == nil {
			return "lines with pressures"
		}
		return "lines with numbers: " + f.Err.Error()
	}
	return f.Err.Error()
}
