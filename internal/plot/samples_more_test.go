package plot_test

import (
	"math"
	"math/rand/v2"
	"time"

	"boretight/internal/plot"
)

// followed is the made-up hold with what its curve leaves; from 114 s on it does not follow.
func followed() plot.Hold {
	h := hold()
	random := rand.New(rand.NewPCG(3, 4))
	for t := 104.0; t < 118; t += 0.02 {
		h.Residuals = append(h.Residuals, plot.Reading{Seconds: t, Pascals: 4*random.NormFloat64() + 1.2*max(0, t-114)})
	}
	return h
}

// traced is a made-up hold of a joint that falls with a time constant in s.
func traced(tau, from, lasts float64, seed uint64) plot.Traced {
	random := rand.New(rand.NewPCG(seed, 1))
	level := func(t float64) float64 { return from * (1 - 0.02*(1-math.Exp(-8*t))) * math.Exp(-t/tau) }
	var h plot.Traced
	for t := -2.0; t < lasts; t += 0.05 {
		at := from
		if t > 0 {
			at = level(t)
		}
		h.Points = append(h.Points, plot.Point{X: t, Y: at + 0.006*random.NormFloat64()})
	}
	for t := 0.0; t < 1.5*lasts; t += 0.5 {
		h.Curve = append(h.Curve, plot.Interval{X: t, Low: level(t) - 0.01 - t/900, High: level(t) + 0.01 + t/900})
	}
	return h
}

func overlay() plot.Overlay {
	o := plot.Overlay{
		Limit: "limit 1.5 sccm",
		Found: []plot.Traced{traced(9, 2.71, 14, 1), traced(9.4, 2.6, 12, 2), traced(8.8, 2.9, 15, 3)},
		Left:  []plot.Traced{traced(70, 2.6, 20, 4), traced(75, 2.75, 20, 5), traced(72, 2.68, 18, 6)},
	}
	for t := 0.0; t <= 25; t += 0.5 {
		o.Wedge = append(o.Wedge, plot.Point{X: t, Y: 2.7 * math.Exp(-t/35)})
	}
	return o
}

func visits() plot.Trend {
	day := func(text string) time.Time {
		at, _ := time.Parse("2006-01-02 15", text)
		return at
	}
	return plot.Trend{Limit: 1.5, Unit: "sccm", Seen: []plot.Seen{
		{plot.Outcome{"", 0.9, 0.8, 1.0, "0.90 ± 0.10", plot.Passed}, day("2026-03-12 15"), "T-1044", true},
		{plot.Outcome{"", 5.32, 4.9, 5.74, "5.32 ± 0.42", plot.Failed}, day("2024-01-09 10"), "T-1001", false},
		{plot.Outcome{"", 0.61, 0.5, 0.72, "0.61 ± 0.11", plot.Passed}, day("2024-01-09 16"), "T-1001", true},
		{plot.Outcome{"", 1.55, 1.35, 1.75, "1.55 ± 0.20", plot.Open}, day("2025-02-20 10"), "T-1020", false},
		{plot.Outcome{"", 2.8, 2.6, 3.0, "2.80 ± 0.20", plot.Failed}, day("2026-03-10 10"), "T-1044", false},
		{plot.Outcome{"", math.NaN(), 0, 0, "", plot.NoInk}, day("2026-04-01 10"), "T-1050", false},
	}}
}

// spread is visits whose values span more than a linear axis shows.
func spread() plot.Trend {
	t := visits()
	t.Seen = append(t.Seen, plot.Seen{plot.Outcome{"", 0.021, -0.01, 0.052, "0.02 ± 0.03", plot.Passed}, time.Date(2026, 4, 20, 9, 0, 0, 0, time.UTC), "T-1050", true})
	return t
}

func control() plot.Control {
	c := plot.Control{Target: 0, Name: "deviation from the certificate", Unit: "%"}
	random := rand.New(rand.NewPCG(7, 7))
	average := 0.0
	for i := range 24 {
		value := 0.8 * random.NormFloat64()
		if i > 17 {
			value += 2
		}
		average += 0.2 * (value - average)
		half := 0.8 * math.Sqrt(1-math.Pow(0.8, 2*float64(i+1)))
		c.Spots = append(c.Spots, plot.Spot{
			At: time.Date(2026, 3, 2+i, 8, 0, 0, 0, time.UTC), Value: value, Average: average, Low: -half, High: half, Out: math.Abs(average) > half,
		})
	}
	return c
}
