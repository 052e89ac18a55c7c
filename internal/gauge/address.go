package gauge

import (
	"errors"
	"fmt"
	"net"
	"net/url"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"boretight/internal/quantity"
	"boretight/internal/trace"
)

// Scheme says what kind of thing an address leads to.
type Scheme string

// The schemes of addresses.
const (
	Serial Scheme = "serial" // a serial port, by the system's name
	TCP    Scheme = "tcp"    // HOST:PORT, raw bytes
	Sim    Scheme = "sim"    // a simulated gauge, by the scenario's name
	Replay Scheme = "replay" // a trace file, by its path
)

const schemesHint = "an address begins with serial:, tcp:, sim: or replay:, such as serial:/dev/ttyUSB0, serial:COM5, tcp:127.0.0.1:4001, sim:NAME, replay:FILE"

// Dialect is the language a gauge speaks.
type Dialect string

// The dialects an address can name.
const (
	Frames Dialect = "frames" // our own protocol, package frames
	Text   Dialect = "text"   // a number on each line
	SCPI   Dialect = "scpi"
	Modbus Dialect = "modbus"
)

// Level says what to do with a modem line when a serial port is opened.
type Level string

// The levels an address can ask for.
const (
	LevelDefault Level = ""    // leave it to the system, which mostly raises it
	LevelOn      Level = "on"  // raise it
	LevelOff     Level = "off" // keep it down, as for boards that reset on DTR
)

// DefaultBaud is the rate of a serial port whose address gives none.
const DefaultBaud = 115200

// Address says where a gauge is and how to read it. Fields that do not belong to
// its scheme are zero.
type Address struct {
	// Name is the label given before the address; see [Address.Label].
	Name string
	// Scheme says what Target is.
	Scheme Scheme
	// Target is the port, HOST:PORT, scenario or file.
	Target string
	// Baud is the rate of a serial port, always 8N1.
	Baud int
	// DTR and RTS are the modem lines of a serial port.
	DTR, RTS Level
	// Dialect of a serial port or a TCP connection.
	Dialect Dialect
	// Unit of the numbers of dialect text, as written; empty if each line says it.
	Unit string
	// Field is the number to take from a line of dialect text, from 1; 0 is the first.
	Field int
	// Negate turns the sign of dialect text: for a gauge that shows vacuum as a
	// positive number.
	Negate bool
	// DecimalComma makes commas between the digits of dialect text decimal ones.
	DecimalComma bool
	// Kind is what the pressures of dialect text are measured against. Of other
	// dialects the gauge says it.
	Kind trace.Kind
	// Speed of a replay or a simulation: 1 is real time. A replay of 0 goes as fast as
	// possible; a simulation of 0 was told none and goes at 1.
	Speed float64
	// Seed of a simulation, 0 if not given.
	Seed uint64
}

// ParseAddress reads [NAME=]SCHEME:TARGET[?KEY=VALUE&…], the value of --gauge.
func ParseAddress(s string) (Address, error) {
	a, err := parseAddress(s)
	if err != nil {
		return Address{}, fmt.Errorf("gauge address %q: %w", s, err)
	}
	return a, nil
}

func parseAddress(s string) (a Address, err error) {
	scheme, rest, ok := strings.Cut(s, ":")
	if !ok {
		return a, fmt.Errorf("no kind of gauge; %s", schemesHint)
	}
	if name, after, named := strings.Cut(scheme, "="); named {
		if a.Name, scheme = name, after; !validName(name) {
			return a, fmt.Errorf("name %q: 1 to %d of letters, digits, - and _ are allowed", name, maxName)
		}
	}
	a.Scheme = Scheme(scheme)
	allowed, ok := optionsOf[a.Scheme]
	if !ok {
		return a, fmt.Errorf("unknown kind of gauge %q; %s", scheme, schemesHint)
	}
	// The last question mark, and only if an assignment follows: file and port
	// names may hold one, as in \\?\C:\holds\a.csv.
	query := ""
	if i := strings.LastIndexByte(rest, '?'); i >= 0 && (strings.Contains(rest[i:], "=") || i == len(rest)-1) {
		rest, query = rest[:i], rest[i+1:]
	}
	if a.Target = rest; a.Target == "" {
		return a, fmt.Errorf("nothing after %q; %s", scheme+":", schemesHint)
	}
	a.setDefaults()
	if err := a.setOptions(query, allowed); err != nil {
		return a, err
	}
	if a.Scheme == TCP {
		if _, port, err := net.SplitHostPort(a.Target); err != nil || port == "" {
			return a, fmt.Errorf("%q is not HOST:PORT, such as 127.0.0.1:4001", a.Target)
		}
	}
	return a, nil
}

// optionsOf lists the options that each scheme takes.
var optionsOf = map[Scheme][]string{
	Serial: {"baud", "dialect", "unit", "field", "sign", "decimal", "kind", "dtr", "rts"},
	TCP:    {"dialect", "unit", "field", "sign", "decimal", "kind"},
	Sim:    {"seed", "speed"},
	Replay: {"speed"},
}

// mostSpeed of a simulation: what a reader can follow.
const mostSpeed = 100

// textOptions are the options that go with dialect text only.
var textOptions = []string{"unit", "field", "sign", "decimal", "kind"}

func (a *Address) setDefaults() {
	switch a.Scheme {
	case Serial:
		a.Baud, a.Dialect = DefaultBaud, Frames
	case TCP:
		a.Dialect = Frames
	case Replay:
		a.Speed = 1
	}
}

func (a *Address) setOptions(query string, allowed []string) error {
	values, err := url.ParseQuery(query)
	if err != nil {
		return fmt.Errorf("options %q: %w", query, err)
	}
	for _, key := range sortedKeys(values) {
		if !slices.Contains(allowed, key) {
			return fmt.Errorf("unknown option %q; %s takes %s", key, a.Scheme, strings.Join(allowed, ", "))
		}
		if len(values[key]) != 1 {
			return fmt.Errorf("option %q is given more than once", key)
		}
		if err := a.setOption(key, values[key][0]); err != nil {
			return err
		}
	}
	for _, key := range textOptions {
		if values.Has(key) && a.Dialect != Text {
			return fmt.Errorf("option %s goes with dialect=text, not %s", key, a.Dialect)
		}
	}
	if a.Negate && a.Kind == trace.Absolute {
		return errors.New("option sign=-: an absolute pressure has no sign to turn")
	}
	return nil
}

func (a *Address) setOption(key, value string) error {
	wrong := func(want string) error { return fmt.Errorf("option %s=%s: want %s", key, value, want) }
	switch key {
	case "baud":
		n, err := strconv.Atoi(value)
		if err != nil || n < 50 || n > 20_000_000 {
			return wrong("a rate in baud, such as 115200")
		}
		a.Baud = n
	case "dialect":
		a.Dialect = Dialect(value)
		if !slices.Contains([]Dialect{Frames, Text, SCPI, Modbus}, a.Dialect) {
			return wrong("frames, text, scpi or modbus")
		}
	case "unit":
		if a.Unit = value; value == "" {
			return wrong("a unit of pressure, such as kPa")
		}
		if _, err := quantity.ParseUnit[quantity.Pressure](value); err != nil {
			return fmt.Errorf("option unit=%s: %w", value, err)
		}
	case "field":
		n, err := strconv.Atoi(value)
		if err != nil || n < 1 || n > 100 {
			return wrong("the place of the number on its line, from 1")
		}
		a.Field = n
	case "sign", "decimal", "kind":
		return a.setMeaning(key, value, wrong)
	case "dtr", "rts":
		level := Level(value)
		if level != LevelOn && level != LevelOff {
			return wrong("on or off")
		}
		if key == "dtr" {
			a.DTR = level
		} else {
			a.RTS = level
		}
	case "speed":
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || !(v >= 0 && v <= 1e6) {
			return wrong("a factor such as 1, or 0 for as fast as possible")
		}
		if a.Scheme == Sim && !(v > 0 && v <= mostSpeed) {
			return wrong(fmt.Sprintf("a factor over 0, at most %d", mostSpeed))
		}
		a.Speed = v
	case "seed":
		n, err := strconv.ParseUint(value, 10, 64)
		if err != nil {
			return wrong("a whole number")
		}
		a.Seed = n
	}
	return nil
}

// setMeaning takes the options that say what a number of dialect text means.
func (a *Address) setMeaning(key, value string, wrong func(want string) error) error {
	switch key + "=" + value {
	case "sign=-":
		a.Negate = true
	case "sign=+", "sign= ": // a plus in a query is a space
		a.Negate = false
	case "decimal=comma":
		a.DecimalComma = true
	case "decimal=point":
		a.DecimalComma = false
	case "kind=absolute":
		a.Kind = trace.Absolute
	case "kind=gauge":
		a.Kind = trace.Gauge
	default:
		return wrong(map[string]string{
			"sign":    "+, or - for a gauge that shows vacuum as a positive number",
			"decimal": "point or comma",
			"kind":    "gauge or absolute",
		}[key])
	}
	return nil
}

// String returns the address as ParseAddress reads it, without options that have
// their default.
func (a Address) String() string {
	var b strings.Builder
	if a.Name != "" {
		b.WriteString(a.Name + "=")
	}
	b.WriteString(string(a.Scheme) + ":" + a.Target)
	separator := byte('?')
	option := func(given bool, key, value string) {
		if given {
			b.WriteByte(separator)
			b.WriteString(key + "=" + url.QueryEscape(value))
			separator = '&'
		}
	}
	option(a.Scheme == Serial && a.Baud != DefaultBaud, "baud", strconv.Itoa(a.Baud))
	option(a.Dialect != "" && a.Dialect != Frames, "dialect", string(a.Dialect))
	option(a.Unit != "", "unit", a.Unit)
	option(a.Field != 0, "field", strconv.Itoa(a.Field))
	option(a.Negate, "sign", "-")
	option(a.DecimalComma, "decimal", "comma")
	option(a.Kind == trace.Absolute, "kind", trace.Absolute.String())
	option(a.DTR != "", "dtr", string(a.DTR))
	option(a.RTS != "", "rts", string(a.RTS))
	option(a.Scheme == Replay && a.Speed != 1 || a.Scheme == Sim && a.Speed != 0, "speed", strconv.FormatFloat(a.Speed, 'g', -1, 64))
	option(a.Seed != 0, "seed", strconv.FormatUint(a.Seed, 10))
	if separator == '?' && strings.Contains(a.Target, "?") {
		b.WriteByte('?') // so that the target's own is not taken for the options'
	}
	return b.String()
}

// Label names the gauge in metrics and on screens: its name if it was given one,
// else the last part of its target; ports of Windows have their name in capitals, without
// the prefix that some carry.
func (a Address) Label() string {
	switch {
	case a.Name != "":
		return a.Name
	case a.Scheme == Serial && comPort(a.Target):
		return comName(a.Target)
	case a.Scheme == Serial, a.Scheme == Replay:
		return filepath.Base(a.Target)
	}
	return a.Target
}

// maxName keeps labels of metrics short.
const maxName = 32

func validName(name string) bool {
	if name == "" || len(name) > maxName {
		return false
	}
	for _, c := range name {
		switch {
		case 'A' <= c && c <= 'Z', 'a' <= c && c <= 'z', '0' <= c && c <= '9', c == '-', c == '_':
		default:
			return false
		}
	}
	return true
}

func sortedKeys(values url.Values) []string {
	keys := make([]string, 0, len(values))
	for key := range values {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	return keys
}
