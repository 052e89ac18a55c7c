package web

import (
	"math"
	"time"

	"boretight/internal/decay"
	"boretight/internal/trial"
)

// shown writes figures and times for people, as the shop has chosen to see them. Inside
// the program all is SI and UTC.
type shown struct {
	location *time.Location
}

// shown returns how the shop sees figures and times now.
func (s *Site) shown() shown { return shown{location: s.location} }

// figure chooses what an outcome can give: the leakage rate, or without a volume the
// pressure rate, or nothing.
func (u shown) figure(rate *trial.LeakRate, sccm *decay.Estimate, pressure *trial.Value) *figureView {
	return figureOf(rate, sccm, pressure)
}

// ofTrial is the figure of a trial.
func (u shown) ofTrial(t *trial.Trial) *figureView { return u.figure(t.LeakRate, t.SCCM, nil) }

// ofHold is the figure of a hold.
func (u shown) ofHold(o trial.Outcome) *figureView {
	return u.figure(o.LeakRate, o.SCCM, o.PressureRate)
}

// limit writes the limit that a verdict was given by.
func (u shown) limit(d *trial.Decision) string { return plain(d.LimitSCCM) + " sccm" }

// pressure writes a pressure difference in Pa without its sign.
func (u shown) pressure(pa float64) string { return kilopascals(pa) }

// length writes a length in m.
func (u shown) length(m float64) string { return plain(1000*m) + " mm" }

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

// seconds writes a time in s for people who wait.
func (u shown) seconds(s float64) string { return fixed(math.Ceil(s), 0) + " s" }
