package plot_test

import (
	"math"
	"math/rand/v2"

	"boretight/internal/plot"
)

// hold is a made-up hold: drawn to 2.6 kPa, let go over 20 s, the limit's curve below it.
func hold() plot.Hold {
	random := rand.New(rand.NewPCG(1, 2))
	h := plot.Hold{Title: "Hold of 10:42, upper joint", Isolation: 104, Counted: 118, Suction: true, Limit: "limit 1.5 sccm"}
	for t := 100.0; t < 124; t += 0.1 {
		level := -2600 * math.Exp(-(t-104)/75)
		switch {
		case t < 101:
			level = 0
		case t < 104:
			level = -2600 * (t - 101) / 3
		case t > 122:
			level *= math.Exp(-(t - 122) * 4)
		}
		h.Readings = append(h.Readings, plot.Reading{Seconds: t, Pascals: level + 4*random.NormFloat64()})
	}
	for t := 104.0; t <= 126; t++ {
		h.Curve = append(h.Curve, plot.Fitted{Seconds: t, Pascals: -2600 * math.Exp(-(t-104)/75), U: 4 + (t-104)*(t-104)/8})
		h.Wedge = append(h.Wedge, plot.Reading{Seconds: t, Pascals: -2600 * math.Exp(-(t-104)/40)})
	}
	return h
}

func budget() plot.Budget {
	return plot.Budget{Sources: []plot.Source{
		{"noise", 0.021, "0.3 %"}, {"volume", 0.71, "1.8 %"}, {"zero", 0.004, "0.1 %"},
		{"gauge span", 0.18, "0.9 %"}, {"temperature drift", 0.061, "0.5 %"}, {"rig background", 0.024, "0.3 %"},
	}}
}

func change() plot.Change {
	return plot.Change{Limit: 1.5, Unit: "sccm", Outcomes: []plot.Outcome{
		{"as found", 5.32, 4.9, 5.74, "5.32 ± 0.42", plot.Failed},
		{"as left", 0.61, 0.5, 0.72, "0.61 ± 0.11", plot.Passed},
	}}
}

// trend is a chart of a caller's own, with everything that a chart can have.
func trend() plot.Chart {
	return plot.Chart{
		Title: "Reference leak", Description: "Thirty days.",
		X: plot.Axis{Name: "day", Low: 0, High: 30},
		Y: plot.Axis{Name: "throughput", Unit: "Pa·m³/s"},
		Series: []plot.Series{
			plot.Belt{Name: "u", Intervals: []plot.Interval{{0, 2.4e-5, 2.6e-5}, {30, 2.4e-5, 2.6e-5}}, Ink: plot.Band},
			plot.Markers{Name: "checks", Shape: plot.Disc, Ink: plot.Main, Marks: []plot.Mark{
				{2, 2.5e-5, 2.45e-5, 2.55e-5}, {9, 2.52e-5, 2.47e-5, 2.57e-5}, {16, 2.47e-5, 2.42e-5, 2.52e-5}}},
			plot.Markers{Name: "out of control", Shape: plot.Triangle, Ink: plot.Failed, Marks: []plot.Mark{{23, 2.78e-5, 2.73e-5, 2.83e-5}}},
			plot.Markers{Name: "open", Shape: plot.Diamond, Ink: plot.Open, Marks: []plot.Mark{{27, 2.61e-5, math.NaN(), 0}}},
			plot.Note{X: 20, Text: "new stopper"},
		},
	}
}
