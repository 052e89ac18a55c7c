package frames

import (
	"bytes"
	"errors"
	"time"

	"boretight/internal/trace"
)

// MaxLine is the longest line in bytes, without its line end.
const MaxLine = 200

var (
	// ErrRestarted is the reason of a break when the gauge began anew: its numbers
	// or its clock do not go on from the reading before.
	ErrRestarted = errors.New("the gauge restarted its count or its clock")
	// ErrOtherGauge is the reason of a break when another gauge, or the same one
	// with another kind of pressure, speaks on the line.
	ErrOtherGauge = errors.New("another gauge answers on this line")
)

// Handler takes what a [Decoder] finds, in the order of the stream.
type Handler interface {
	// Identity is called for the first BTID frame and for each that differs from
	// the one before.
	Identity(Identity)
	// Reading is called for each reading.
	Reading(trace.Reading)
	// Break is called when readings before and after do not belong together.
	Break(reason error)
}

// Counts says how a stream has fared so far. See the package's comment.
type Counts struct {
	// Readings were delivered.
	Readings uint64
	// Lost readings are missing from the numbers of those delivered.
	Lost uint64
	// Damaged lines held no usable frame.
	Damaged uint64
	// Skipped frames were sound but of an unknown type.
	Skipped uint64
	// Standing readings have come since the last one delivered whose clock stood still;
	// they are among the damaged.
	Standing uint64
	// Undecoded is the number of bytes since the last sound frame.
	Undecoded uint64
}

// Decoder turns bytes into readings. The zero value is ready for a stream that is
// met at any point of any line.
type Decoder struct {
	counts Counts
	line   lineBuffer
	past   bool // the first line end was seen
	id     Identity
	order  sequence
}

// Counts returns the counters.
func (d *Decoder) Counts() Counts { return d.counts }

// Resume makes the first reading's T the given one in place of 0, for a stream that
// goes on after an interruption. Before the first reading it may be called again.
func (d *Decoder) Resume(t time.Duration) { d.order.last.T = t }

// Presume says what the pressures are measured against until the gauge says it; without
// it they are gauge pressures. It is called before the first Feed.
func (d *Decoder) Presume(kind trace.Kind) { d.id.Kind = kind }

// Feed decodes the next bytes of the stream and calls h for what they complete.
// The only error is a [*VersionError], after which the stream is of no use.
func (d *Decoder) Feed(chunk []byte, h Handler) error {
	for {
		end := bytes.IndexByte(chunk, '\n')
		if end < 0 {
			d.counts.Undecoded += uint64(len(chunk))
			d.line.add(chunk)
			return nil
		}
		d.counts.Undecoded += uint64(end + 1)
		frame, state := d.line.finish(chunk[:end])
		d.counts.Damaged += uint64(d.line.takeCut())
		chunk = chunk[end+1:]
		first := !d.past
		d.past = true
		switch state {
		case lineBlank:
			continue
		case lineForeign:
			if !first {
				d.counts.Damaged++
			}
			continue
		}
		sound, err := d.frame(frame, h)
		if err != nil {
			return err
		}
		if !sound {
			d.counts.Damaged++
			continue
		}
		d.counts.Undecoded = 0
	}
}

// crcLength is the length of the star and the four digits at the end of a frame.
const crcLength = len("*FFFF")

// frame decodes one line from its dollar sign on.
func (d *Decoder) frame(line []byte, h Handler) (sound bool, err error) {
	star := len(line) - crcLength
	if star < 1 || len(line) > MaxLine || line[star] != '*' {
		return false, nil
	}
	body := line[1:star]
	crc, ok := parseCRC(line[star+1:])
	if !ok || crc != Checksum(body) {
		return false, nil
	}
	tag, rest := cutField(body)
	switch string(tag) {
	case "BTRD":
		return d.reading(rest, h), nil
	case "BTID":
		return d.identity(rest, h)
	}
	d.counts.Skipped++
	return true, nil
}

// reading takes a BTRD frame whose checksum is right.
func (d *Decoder) reading(rest []byte, h Handler) (sound bool) {
	seq, rest := cutField(rest)
	micros, rest := cutField(rest)
	pressure, rest := cutField(rest)
	temperature, rest := cutField(rest)
	status, _ := cutField(rest)

	var s sample
	var bits uint8
	var ok [5]bool
	s.seq, ok[0] = parseUint32(seq)
	s.micros, ok[1] = parseUint32(micros)
	s.Pressure, ok[2] = parseDecimal(pressure, limitPa)
	s.Celsius, ok[3] = parseTemperature(temperature)
	bits, ok[4] = parseStatus(status)
	if ok != [5]bool{true, true, true, true, true} {
		return false
	}
	s.Status = trace.Status(bits) & (trace.Saturated | trace.Faulty | trace.SupplyLow)
	d.order.take(s, &d.counts, h)
	return true
}

// identity takes a BTID frame whose checksum is right.
func (d *Decoder) identity(rest []byte, h Handler) (sound bool, err error) {
	id, ok, err := parseIdentity(rest)
	if !ok {
		return false, err
	}
	if id.same(d.id) {
		return true, nil
	}
	// Readings before the first BTID were taken as gauge pressure, or as presumed.
	changed := id.Kind != d.id.Kind || (d.id.Serial != "" && d.id.Serial != string(id.serial))
	if changed && d.order.begun {
		d.order.begun = false
		h.Break(ErrOtherGauge)
	}
	d.id = id.Identity
	d.id.Serial = string(id.serial)
	h.Identity(d.id)
	return true, nil
}
