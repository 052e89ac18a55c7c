package web

import (
	"cmp"
	"time"

	"boretight/internal/quantity"
)

// House is what the shop has chosen for all that people see. The zero House is one that has
// chosen nothing.
type House struct {
	Name, Address string
	Units         quantity.Units
	Location      *time.Location // nil: the machine's
	// Holds is how many holds the shop wants in a trial; 0 means 3.
	Holds int
}

// usualHolds of a trial. Common practice, no source.
const usualHolds = 3

func (h House) wanted() int { return cmp.Or(h.Holds, usualHolds) }

// shownHouse is what the page's script needs of it to write figures and times as the
// program does.
type shownHouse struct {
	Pressure shownUnit `json:"pressure"`
	Flow     shownUnit `json:"flow"`
	TimeZone string    `json:"time_zone,omitempty"` // IANA name; empty: this machine's, which is
	Offset   int       `json:"utc_offset_s"`        // ahead of UTC by so much now
	Holds    int       `json:"holds"`
}

// shownUnit is a unit with what a figure in SI is multiplied by. Of a flow in sccm, which
// takes the temperature of the gas, the outcome itself has the figure: Per is 0. PerAmbient
// tells that it is to be divided by the room's pressure in Pa as well.
type shownUnit struct {
	Symbol     string  `json:"symbol"`
	Per        float64 `json:"per"`
	PerAmbient bool    `json:"per_ambient,omitempty"`
	Decimals   int     `json:"decimals,omitempty"`
}

func (u shown) house(h House) shownHouse {
	s := shownHouse{Holds: h.wanted()}
	if h.Location != nil && h.Location != time.Local {
		s.TimeZone = h.Location.String()
	}
	_, s.Offset = time.Now().In(u.location).Zone()
	s.Pressure = shownUnit{Symbol: u.units.Pressure.Symbol(), Per: u.units.Pressure.Of(1), Decimals: u.decimals()}
	switch u.units.Flow {
	case quantity.RoomFlow:
		s.Flow = shownUnit{Symbol: u.flowSymbol(), Per: quantity.Throughput(1).RoomFlow(1), PerAmbient: true}
	case quantity.ThroughputFlow:
		s.Flow = shownUnit{Symbol: u.flowSymbol(), Per: perMilli}
	default:
		s.Flow = shownUnit{Symbol: u.flowSymbol()}
	}
	return s
}
