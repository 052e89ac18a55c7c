package bench

import (
	"fmt"
	"slices"
	"strings"

	"boretight/internal/air"
	"boretight/internal/decay"
	"boretight/internal/rig"
)

// noteUnlessMissing leaves out that nothing is on record of what the fit itself says that
// it lacks.
func (m *measured) noteUnlessMissing(h rig.Held) {
	if h.State != rig.Missing {
		m.note(h.Says)
	}
}

func (m *measured) use(r *rig.Record) {
	if !slices.Contains(m.used, r.ID) {
		m.used = append(m.used, r.ID)
	}
}

// useCalibration tells the fit of the gauge's span. What a person told counts more.
func (m *measured) useCalibration(h rig.Held) {
	if m.fit.SpanU >= 0 {
		if h.Holds() {
			m.note("The uncertainty of the gauge's span was told: its calibration on record was not used.")
		}
		return
	}
	m.noteUnlessMissing(h)
	switch {
	case h.State == rig.Missing:
		return // the fit takes the same, and says that nothing is on record
	case !h.Holds():
		m.fit.SpanU = decay.AssumedSpanU // as if it had none; the note above says so
		return
	}
	m.fit.Span, m.fit.SpanU = h.Record.Calibration.SpanFactor(), h.Record.Calibration.SpanU()
	m.told.Calibration = h.Record.ID
	m.use(h.Record)
}

// useVolume tells the fit what is enclosed. Hose and dead volume are counted once: what
// was not measured through the hose lacks them, and a blank tells them.
func (m *measured) useVolume(h rig.Held) {
	if m.fit.Volume.Told() {
		if h.Holds() {
			v := h.Record.Volume
			m.note(fmt.Sprintf("The volume was told, %.4g ml: the one on record (%.4g ml, %s) was not used.", m.fit.Volume.Value*1e6, v.Value*1e6, v.Method))
		}
		return
	}
	m.noteUnlessMissing(h)
	if h.State == rig.Missing {
		m.note(m.otherVolumes())
	}
	if !h.Holds() {
		m.useTemplate(m.standing(0).Blank)
		return
	}
	volume := *h.Record.Volume
	if !volume.RigIncluded {
		blank := m.standing(0).Blank
		if !blank.Holds() {
			m.note("The volume on record leaves out the rig, and no blank tells what the rig holds: it was not used.")
			return
		}
		volume = volume.WithRig(blank.Record.Blank.Volume)
		m.told.RigVolume = blank.Record.ID
		m.use(blank.Record)
	}
	m.fit.Volume = decay.Input(volume.Standard())
	m.told.Volume = h.Record.ID
	m.use(h.Record)
}

// usualRig is what hose, stoppers and gauge hold where no blank tells it: half a metre of
// hose of 3 mm and a gauge's chamber, give or take as much again. Common practice, no source.
func usualRig() rig.Measured { return rig.Measured{Value: 5e-6, U: 2.5e-6} }

// useTemplate tells the fit the volume of a catalog's bore, for want of a measured one.
func (m *measured) useTemplate(blank rig.Held) {
	template := m.settings.Template
	if m.fit.Volume.Told() || template.Value == 0 {
		return
	}
	own := usualRig()
	if blank.Holds() {
		own = blank.Record.Blank.Volume
		m.told.RigVolume = blank.Record.ID
		m.use(blank.Record)
	}
	v := template.WithRig(own)
	m.fit.Volume = decay.Input(v.Standard())
	m.doubts = append(m.doubts, fmt.Sprintf("The volume is that of the catalog's bore with hose and stoppers, %.3g ± %.2g ml: before a limit matters, measure it (boretight rig volume).",
		v.Value*1e6, 2*v.U*1e6))
}

// otherVolumes says that a volume is on record of the joint, but in another closure or
// section; empty when there is none. It is not used: a stopper in the bore may take half
// of the volume away.
func (m *measured) otherVolumes() string {
	setup := m.settings.Setup
	joint := setup.Name()
	var of []string
	for _, r := range m.records {
		same := r.Joint == joint || strings.HasPrefix(r.Joint, joint+", ")
		if r.Kind == rig.KindVolume && joint != "" && same && !slices.Contains(of, r.Joint) {
			of = append(of, r.Joint)
		}
	}
	if len(of) == 0 {
		return ""
	}
	return fmt.Sprintf("No volume was measured for %s; those on record are for %s and were not used: tell section and closure as they were then, or measure it anew.",
		setup.Subject(), strings.Join(of, "; "))
}

// useBlank tells the fit what the rig itself leaks.
func (m *measured) useBlank(h rig.Held) {
	m.note(h.Says)
	if !h.Holds() {
		return
	}
	own, err := h.Record.Blank.Background(air.Sign(m.sign), m.at())
	if err != nil {
		m.note(fmt.Sprintf("The blank on record was not subtracted: %v.", err))
		return
	}
	scaled := *h.Record.Blank
	scaled.LeakRate, scaled.At = rig.Result{Measured: own}, m.at()
	m.blank = &scaled
	m.fit.Rig = decay.Input{Value: own.Value, U: own.U}
	m.told.Blank = h.Record.ID
	m.use(h.Record)
}
