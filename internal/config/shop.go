package config

import (
	"cmp"
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"boretight/internal/quantity"
)

// Shop is what slips and dossiers print of the shop, and how its people read figures
// and times. An empty field was not told. Its tags serve the file's [shop] table.
type Shop struct {
	// Name is printed on slips and dossiers.
	Name string `toml:"name"`
	// Address is printed below the name; it may have lines.
	Address string `toml:"address"`
	// PressureUnit, FlowUnit and LengthUnit are those of pages, slips and printed text.
	PressureUnit quantity.PressureUnit `toml:"pressure-unit"`
	FlowUnit     quantity.FlowUnit     `toml:"flow-unit"`
	LengthUnit   quantity.LengthUnit   `toml:"length-unit"`
	// TimeZone is a name of the IANA's, such as Europe/Berlin; empty means the machine's.
	TimeZone string `toml:"time-zone"`
	// Holds are wanted for a trial.
	Holds int `toml:"holds"`
}

// defaultHolds show whether a joint repeats itself. Common practice, no source.
const defaultHolds = 3

const (
	maxHolds = 30
	// maxLine in letters still fits across a slip in small print.
	maxLine = 80
	// maxLines keeps the head of a dossier above its figures.
	maxLines = 6
)

// DefaultShop returns what holds of a shop that says nothing of itself.
func DefaultShop() Shop { return Shop{Holds: defaultHolds} }

// Units returns the units chosen.
func (s Shop) Units() quantity.Units {
	return quantity.Units{Pressure: s.PressureUnit, Flow: s.FlowUnit, Length: s.LengthUnit}
}

// AddressLines returns the address line by line, without empty ones.
func (s Shop) AddressLines() []string {
	var lines []string
	for line := range strings.Lines(s.Address) {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// Location returns the shop's time zone, which needs the system's or the program's
// own table of zones.
func (s Shop) Location() (*time.Location, error) {
	if s.TimeZone == "" {
		return time.Local, nil
	}
	where, err := time.LoadLocation(s.TimeZone)
	if err != nil {
		return nil, fmt.Errorf("time-zone = %q: want a name such as Europe/Berlin, or none for the machine's: %w", s.TimeZone, err)
	}
	return where, nil
}

// Over returns s with what it was not told taken from base.
func (s Shop) Over(base Shop) Shop {
	return Shop{
		Name:         cmp.Or(s.Name, base.Name),
		Address:      cmp.Or(s.Address, base.Address),
		PressureUnit: cmp.Or(s.PressureUnit, base.PressureUnit),
		FlowUnit:     cmp.Or(s.FlowUnit, base.FlowUnit),
		LengthUnit:   cmp.Or(s.LengthUnit, base.LengthUnit),
		TimeZone:     cmp.Or(s.TimeZone, base.TimeZone),
		Holds:        cmp.Or(s.Holds, base.Holds),
	}
}

// Validate returns all that cannot be.
func (s Shop) Validate() error {
	var faults []error
	if s.Name != "" && !printable(s.Name) {
		faults = append(faults, fmt.Errorf("name = %q: want 1 to %d letters, digits or signs that can be seen", s.Name, maxLine))
	}
	lines := s.AddressLines()
	for _, line := range lines {
		if !printable(line) {
			faults = append(faults, fmt.Errorf("address = %q: want lines of at most %d letters, digits or signs that can be seen", line, maxLine))
		}
	}
	if len(lines) > maxLines {
		faults = append(faults, fmt.Errorf("address: has %d lines, want at most %d", len(lines), maxLines))
	}
	unit := func(key string, err error) {
		if err != nil {
			faults = append(faults, fmt.Errorf("%s: %w", key, err))
		}
	}
	unit("pressure-unit", s.PressureUnit.Validate())
	unit("flow-unit", s.FlowUnit.Validate())
	unit("length-unit", s.LengthUnit.Validate())
	if _, err := s.Location(); err != nil {
		faults = append(faults, err)
	}
	if s.Holds < 1 || s.Holds > maxHolds {
		faults = append(faults, fmt.Errorf("holds = %d: want from 1 to %d for a trial", s.Holds, maxHolds))
	}
	return errors.Join(faults...)
}

// printable reports whether a line is one that paper shows as it is.
func printable(line string) bool {
	if !utf8.ValidString(line) || utf8.RuneCountInString(line) > maxLine || strings.TrimSpace(line) == "" {
		return false
	}
	return strings.IndexFunc(line, func(r rune) bool { return !unicode.IsPrint(r) }) < 0
}
