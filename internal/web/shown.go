package web

import (
	"cmp"
	"math"
	"strings"
	"time"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/quantity"
	"boretight/internal/trial"
)

// shown writes figures and times for people, as the shop has chosen to see them. Inside
// the program all is SI and UTC; figures.js writes the same.
type shown struct {
	units    quantity.Units
	location *time.Location
}

// shown returns how the shop sees figures and times now.
func (s *Site) shown() shown {
	h := s.house()
	return shown{units: h.Units, location: cmp.Or(h.Location, time.Local)}
}

// figure chooses what an outcome can give: the leakage rate, or without a volume the
// pressure rate, or nothing. Ambient is the pressure of the room in Pa, 0 when not told.
func (u shown) figure(rate *trial.LeakRate, sccm *decay.Estimate, pressure *trial.Value, ambient float64) *figureView {
	e, ok := u.flow(rate, sccm, ambient)
	switch {
	case ok:
		d := decimals(expanded(e.U))
		view := &figureView{
			measured: written(e.Value, expanded(e.U)),
			Unit:     u.flowSymbol(),
			Interval: fixed(e.Low, d) + " to " + fixed(e.High, d) + " " + u.flowSymbol(),
		}
		if rate != nil {
			view.SI = powered(rate.Value, expanded(rate.U)) + " Pa·m³/s"
		}
		return view
	case pressure != nil && finite(pressure.Value) && finite(pressure.U):
		return &figureView{measured: written(pressure.Value, expanded(pressure.U)), Unit: "Pa/s"}
	}
	return nil
}

// flow is a leakage rate in the shop's unit.
func (u shown) flow(rate *trial.LeakRate, sccm *decay.Estimate, ambient float64) (decay.Estimate, bool) {
	e := sccm
	if factor := u.flowFactor(ambient); factor > 0 {
		if rate == nil {
			return decay.Estimate{}, false
		}
		e = &decay.Estimate{Value: rate.Value * factor, U: rate.U * factor, Low: rate.Low * factor, High: rate.High * factor}
	}
	if e == nil || !finite(e.Value) || !finite(e.U) {
		return decay.Estimate{}, false
	}
	return *e, true
}

// perMilli shows throughputs in mPa·m³/s: joints leak some of them.
const perMilli = 1e3

// flowFactor is what a throughput in Pa·m³/s is multiplied by; 0 for sccm, which takes the
// temperature of the gas as well: results carry it beside the throughput.
func (u shown) flowFactor(ambient float64) float64 {
	switch u.units.Flow {
	case quantity.RoomFlow:
		return quantity.Throughput(1).RoomFlow(quantity.Pressure(roomOf(ambient)))
	case quantity.ThroughputFlow:
		return perMilli
	}
	return 0
}

// roomOf is the pressure of a room, the standard atmosphere where none was told.
func roomOf(ambient float64) float64 { return cmp.Or(ambient, 101325) }

// flowSymbol is the shop's unit of leakage rates.
func (u shown) flowSymbol() string {
	if u.units.Flow == quantity.ThroughputFlow {
		return "mPa·m³/s"
	}
	return u.units.Flow.Symbol()
}

// limitOf writes a limit told as throughput in Pa·m³/s and in sccm.
func (u shown) limitOf(throughput, sccm, ambient float64) string {
	if factor := u.flowFactor(ambient); factor > 0 {
		return plain(throughput*factor) + " " + u.flowSymbol()
	}
	return plain(sccm) + " " + u.flowSymbol()
}

// limitSet writes a limit before there is a hold: one set in sccm as it was set, since what
// it is in another unit hangs on the temperature of the gas.
func (u shown) limitSet(s bench.Setup) string {
	if s.Standard {
		u.units.Flow = quantity.StandardFlow
	}
	return u.limitOf(s.Limit, s.LimitSCCM, s.Ambient)
}

// ofTrial is the figure of a trial.
func (u shown) ofTrial(t *trial.Trial, ambient float64) *figureView {
	return u.figure(t.LeakRate, t.SCCM, nil, ambient)
}

// ofHold is the figure of a hold.
func (u shown) ofHold(h bench.HoldData) *figureView {
	return u.figure(h.LeakRate, h.SCCM, h.PressureRate, h.On.Ambient)
}

// limit writes the limit that a verdict was given by.
func (u shown) limit(d *trial.Decision, ambient float64) string {
	return u.limitOf(d.Limit, d.LimitSCCM, ambient)
}

// pressure writes a pressure difference in Pa without its sign.
func (u shown) pressure(pa float64) string {
	return u.pressureFigure(pa) + " " + u.units.Pressure.Symbol()
}

func (u shown) pressureFigure(pa float64) string {
	return fixed(u.units.Pressure.Of(quantity.Pressure(math.Abs(pa))), u.decimals())
}

// roughly writes a pressure that a person told, to two digits: 6 kPa, 24 inH2O.
func (u shown) roughly(pa float64) string {
	x := u.units.Pressure.Of(quantity.Pressure(pa))
	step := math.Pow10(int(math.Floor(math.Log10(x))) - 1)
	return plain(math.Round(x/step)*step) + " " + u.units.Pressure.Symbol()
}

// decimals of pressures of some kPa: 10 Pa or a little finer.
func (u shown) decimals() int {
	return max(0, int(math.Ceil(-math.Log10(u.units.Pressure.Of(10))-1e-9)))
}

// reach writes how far to draw: a little above the stated Δp, so that the hold passes
// through it.
func (u shown) reach(at float64) string {
	text := u.pressureFigure(at) + " to " + u.pressureFigure(reachOver*at) + " " + u.units.Pressure.Symbol()
	return strings.ReplaceAll(text, " ", "\u00a0")
}

// reachOver is how far above the stated Δp a draw may go without a note.
const reachOver = 1.15

// length writes a length in m.
func (u shown) length(m float64) string {
	return plain(u.units.Length.Of(quantity.Length(m))) + " " + u.units.Length.Symbol()
}

// volume writes a volume in m³.
func (u shown) volume(m3 float64) string { return plain(1e6*m3) + " ml" }

// moment writes a time of day with its date.
func (u shown) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(u.location).Format("2 Jan 2006 15:04:05")
}

// day writes a date.
func (u shown) day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(u.location).Format("2 Jan 2006")
}
