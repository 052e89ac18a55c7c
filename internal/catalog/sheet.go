package catalog

import (
	"fmt"
	"math"

	"boretight/internal/quantity"
	"boretight/internal/rig"
)

// Schema names the form of a [Sheet].
const Schema = "boretight/catalog/1"

// Sheet is a joint as other programs read it: lengths in mm, volumes in ml. Each part
// has sources, which tells of each of its keys where the value comes from.
type Sheet struct {
	Schema       string         `json:"schema"`
	Name         string         `json:"name"` // INSTRUMENT/JOINT
	Instrument   string         `json:"instrument"`
	Joint        string         `json:"joint"`
	Title        string         `json:"title"`
	System       string         `json:"system"`
	Length       float64        `json:"length_mm"`
	Volume       VolumeSheet    `json:"volume_ml"`
	HeatDiameter float64        `json:"heat_diameter_mm"`
	Bore         []PieceSheet   `json:"bore"`
	Ends         []EndSheet     `json:"ends"`
	Closure      Closure        `json:"closure"`
	Sections     []SectionSheet `json:"sections"`
	Holes        []HoleSheet    `json:"holes"`
	Seats        []SeatSheet    `json:"seats"`
	Notes        []NoteSheet    `json:"notes"`
	Sources      Sources        `json:"sources"`
}

// Sources tells of keys where their values come from.
type Sources map[string]string

// VolumeSheet is a volume with its standard uncertainty in ml.
type VolumeSheet struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

// PieceSheet is a [Piece].
type PieceSheet struct {
	Length  float64 `json:"length_mm"`
	From    float64 `json:"from_mm"`
	To      float64 `json:"to_mm"`
	Sources Sources `json:"sources"`
}

// EndSheet is an [End].
type EndSheet struct {
	End       string  `json:"end"`
	Position  float64 `json:"position_mm"`
	ClosedBy  string  `json:"closed_by"`
	Stoppered bool    `json:"stoppered"`
	Sources   Sources `json:"sources"`
}

// SectionSheet is a [Section].
type SectionSheet struct {
	Section string      `json:"section"`
	From    float64     `json:"from_mm"`
	To      float64     `json:"to_mm"`
	Volume  VolumeSheet `json:"volume_ml"`
	Seats   []string    `json:"seats"`
	Sources Sources     `json:"sources"`
}

// HoleSheet is a [Hole].
type HoleSheet struct {
	Hole     string  `json:"hole"`
	Position float64 `json:"position_mm"`
	Diameter float64 `json:"diameter_mm"`
	Finger   string  `json:"finger"`
	Sources  Sources `json:"sources"`
}

// SeatSheet is a [Seat].
type SeatSheet struct {
	Seat     string   `json:"seat"`
	Position float64  `json:"position_mm"`
	Hole     float64  `json:"hole_mm"`
	Land     float64  `json:"land_mm"`
	Pad      float64  `json:"pad_mm"`
	PadKind  string   `json:"pad_kind"`
	Hinge    float64  `json:"hinge_mm"`
	Key      string   `json:"key"`
	Stands   string   `json:"stands"`
	Can      []string `json:"can"`
	Reach    string   `json:"reach"`
	Sources  Sources  `json:"sources"`
}

// NoteSheet is a risk.
type NoteSheet struct {
	Note   string `json:"note"`
	Source string `json:"source"`
}

// NewSheet writes a joint of an instrument down.
func NewSheet(i Instrument, j Joint) (Sheet, error) {
	volume, err := j.Volume()
	if err != nil {
		return Sheet{}, fmt.Errorf("sheet of %s/%s: %w", i.Name, j.Name, err)
	}
	s := Sheet{
		Schema: Schema, Name: i.Name + "/" + j.Name, Instrument: i.Name, Joint: j.Name,
		Title: j.Title.Value, System: i.System.Value,
		Length: mm(j.Length()), Volume: ml(volume), HeatDiameter: mm(j.HeatDiameter()),
		Bore: []PieceSheet{}, Ends: []EndSheet{}, Closure: j.DefaultClosure(),
		Sections: []SectionSheet{}, Holes: []HoleSheet{}, Seats: []SeatSheet{}, Notes: []NoteSheet{},
		Sources: Sources{"title": j.Title.Source.String(), "system": i.System.Source.String()},
	}
	for _, p := range j.Bore {
		s.Bore = append(s.Bore, PieceSheet{mm(p.Length.Value), mm(p.From.Value), mm(p.To.Value), Sources{
			"length_mm": p.Length.Source.String(), "from_mm": p.From.Source.String(), "to_mm": p.To.Source.String(),
		}})
	}
	for _, e := range j.Ends {
		s.Ends = append(s.Ends, EndSheet{e.Name, mm(e.At.Value), e.ClosedBy.Value, e.Stoppered(), Sources{
			"position_mm": e.At.Source.String(), "closed_by": e.ClosedBy.Source.String(),
		}})
	}
	for _, x := range j.Sections {
		v, err := j.SectionVolume(x)
		if err != nil {
			return Sheet{}, fmt.Errorf("sheet of section %q of %s: %w", x.Name, s.Name, err)
		}
		s.Sections = append(s.Sections, SectionSheet{x.Name, mm(x.From.Value), mm(x.To.Value), ml(v), j.SeatsIn(x), Sources{
			"from_mm": x.From.Source.String(), "to_mm": x.To.Source.String(),
		}})
	}
	for _, h := range j.Holes {
		s.Holes = append(s.Holes, HoleSheet{h.Name, mm(h.At.Value), mm(h.Diameter.Value), h.Finger.Value, Sources{
			"position_mm": h.At.Source.String(), "diameter_mm": h.Diameter.Source.String(), "finger": h.Finger.Source.String(),
		}})
	}
	for _, x := range j.Seats {
		s.Seats = append(s.Seats, newSeatSheet(x))
	}
	for _, notes := range [][]Word{i.Notes, j.Notes} {
		for _, n := range notes {
			s.Notes = append(s.Notes, NoteSheet{n.Value, n.Source.String()})
		}
	}
	return s, nil
}

func newSeatSheet(x Seat) SeatSheet {
	return SeatSheet{
		Seat: x.Name, Position: mm(x.At.Value), Hole: mm(x.Hole.Value), Land: mm(x.Land.Value),
		Pad: mm(x.Pad.Value), PadKind: x.PadKind.Value, Hinge: mm(x.Hinge.Value),
		Key: x.Key.Value, Stands: x.Stands.Value, Can: x.Can.Value, Reach: x.Reach.Value,
		Sources: Sources{
			"position_mm": x.At.Source.String(), "hole_mm": x.Hole.Source.String(), "land_mm": x.Land.Source.String(),
			"pad_mm": x.Pad.Source.String(), "pad_kind": x.PadKind.Source.String(), "hinge_mm": x.Hinge.Source.String(),
			"key": x.Key.Source.String(), "stands": x.Stands.Source.String(), "can": x.Can.Source.String(),
			"reach": x.Reach.Source.String(),
		},
	}
}

// mm is a length in mm to the nanometre, without what the sums of lengths round.
func mm(l quantity.Length) float64 { return math.Round(float64(l)*1e9) / 1e6 }

// ml is a volume in ml to the microlitre.
func ml(v rig.Volume) VolumeSheet {
	return VolumeSheet{math.Round(v.Value*1e9) / 1e3, math.Round(v.U*1e9) / 1e3}
}
