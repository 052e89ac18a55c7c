package web

import (
	"cmp"

	"boretight/internal/bench"
	"boretight/internal/decay"
	"boretight/internal/hold"
)

// toldView is one thing that a fit was told of the joint and the room, and by whom.
type toldView struct {
	Name, Figure string
	Source       string // told, from a record, or taken because nothing was told
	Record       string // identity of that record
}

// Short is as much of the record's identity as tells it from others.
func (v toldView) Short() string { return v.Record[:min(len(v.Record), 13)] }

// told lists what the fit of a hold was told; nothing where that was not kept.
func (u shown) told(whole WholeHold) []toldView {
	if whole.Repeat == nil || whole.Repeat.Told.Method == "" {
		return nil
	}
	told := whole.Repeat.Told
	fit, known := told.Fit, told.Rig[whole.Sign]
	if whole.Repeat.Hold != nil {
		fit = told.Setup(whole.Repeat.Hold.Sign)
	}
	all := []toldView{u.toldVolume(fit, known)}
	add := func(name, figure string, in decay.Input, taken string) {
		if !in.Told() {
			all = append(all, toldView{Name: name, Figure: taken, Source: "not told: taken"})
			return
		}
		all = append(all, toldView{Name: name, Figure: figure, Source: "told"})
	}
	add("ambient pressure", u.ambientWithU(fit.Ambient.Value, fit.Ambient.U), fit.Ambient,
		u.ambientWithU(standardPressure, decay.AssumedAmbientU))
	add("temperature", celsiusWithU(fit.Temperature.Value, fit.Temperature.U), fit.Temperature, "the gauge’s own, else 20 ± 10 °C")
	add("bore", u.lengthWithU(fit.Bore.Value, fit.Bore.U), fit.Bore, "anything usual")
	all = append(all, toldView{Name: "stated at", Figure: u.pressure(cmp.Or(whole.At, fit.At, decay.DefaultAt)), Source: "told"})
	return append(all, u.toldSpan(fit, known), u.toldRig(fit, known))
}

// standardPressure in Pa is what a fit takes of a room that nobody told of.
const standardPressure = 101325

func (u shown) toldVolume(fit decay.Setup, known bench.ToldRig) toldView {
	view := toldView{Name: "volume", Figure: "none, so only the pressure rate can be given", Source: "not told"}
	if fit.Volume.Told() {
		view.Figure, view.Source = volumeWithU(fit.Volume.Value, fit.Volume.U), "told"
	}
	if known.Volume != "" {
		view.Source, view.Record = "record", known.Volume
	}
	return view
}

func (u shown) toldSpan(fit decay.Setup, known bench.ToldRig) toldView {
	span, spanU := cmp.Or(fit.Span, 1), fit.SpanU
	view := toldView{Name: "span of the gauge", Source: "told"}
	if spanU < 0 {
		spanU, view.Source = decay.AssumedSpanU, "not told: taken"
	}
	if known.Calibration != "" {
		view.Source, view.Record = "record", known.Calibration
	}
	m := written(span, expanded(span*spanU))
	view.Figure = "× " + m.Value + " ± " + m.U
	return view
}

func (u shown) toldRig(fit decay.Setup, known bench.ToldRig) toldView {
	view := toldView{Name: "rig’s own leak", Figure: "none taken off", Source: "no blank"}
	if fit.Rig.Told() {
		view.Figure, view.Source = u.throughputWithU(fit.Rig.Value, fit.Rig.U, fit.Ambient.Value), "told"
	}
	if known.Blank != "" {
		view.Source, view.Record = "record", known.Blank
	}
	return view
}

// suction reports whether a hold was drawn below the room's pressure.
func suction(whole bench.HoldData) bool { return whole.Sign != hold.Pressure.String() }
