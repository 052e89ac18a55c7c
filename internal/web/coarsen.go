package web

import (
	"slices"

	"boretight/internal/bench"
)

const (
	// behind is how many events waiting mean that a reader does not keep up: it gets
	// them joined. A reader who does finds one or two.
	behind = 12
	// keptReadings of one gauge in a joined event; more are thinned. The page draws
	// about one a pixel.
	keptReadings = 400
)

// reading is one reading on the stream.
type reading struct {
	Gauge    string  `json:"gauge"`
	T        float64 `json:"t_s"`         // on the gauge's stream clock
	Pressure float64 `json:"pressure_pa"` // bore minus ambient, against the zero of the last rest
}

// batch is what goes out in one write.
type batch struct {
	events  []bench.Event
	missed  uint64 // events lost before these
	thinned int    // readings left out of these
}

// coarsen makes of waiting events what is sent of them. Few go out as they are. Of
// many, the readings of each gauge are joined and thinned, of each gauge's states and
// estimates, and of the trials, only the latest stays; every hold stays. What is
// joined takes the latest id, so that ids still rise.
func coarsen(events []bench.Event) batch {
	var b batch
	if len(events) < behind {
		for _, event := range events {
			if data, ok := event.Data.(bench.ReadingData); ok {
				event.Data = flatten(data.Gauge, data.Readings)
			}
			b.events = append(b.events, event)
		}
		return b
	}
	type subject struct {
		kind  bench.EventKind
		gauge string
	}
	latest := make(map[subject]bench.Event)
	samples := make(map[string][]bench.Sample)
	for _, event := range events {
		switch data := event.Data.(type) {
		case bench.ReadingData:
			samples[data.Gauge] = append(samples[data.Gauge], data.Readings...)
			latest[subject{event.Kind, data.Gauge}] = event
		case bench.StateData:
			latest[subject{event.Kind, data.Gauge}] = event
		case bench.EstimateData:
			latest[subject{event.Kind, data.Gauge}] = event
		default:
			if event.Kind == bench.EventTrial {
				latest[subject{event.Kind, ""}] = event
				continue
			}
			b.events = append(b.events, event)
		}
	}
	for key, event := range latest {
		if key.kind == bench.EventReading {
			kept := thin(samples[key.gauge], keptReadings)
			b.thinned += len(samples[key.gauge]) - len(kept)
			event.Data = flatten(key.gauge, kept)
		}
		b.events = append(b.events, event)
	}
	slices.SortFunc(b.events, func(x, y bench.Event) int {
		if x.ID < y.ID {
			return -1
		}
		return 1 // ids are never equal
	})
	return b
}

func flatten(gauge string, samples []bench.Sample) []reading {
	readings := make([]reading, len(samples))
	for i, sample := range samples {
		readings[i] = reading{Gauge: gauge, T: sample.T, Pressure: sample.Pressure}
	}
	return readings
}

// thin leaves at most limit samples, the lowest and the highest of each of limit/2
// stretches in their order, so that no spike is hidden.
func thin(samples []bench.Sample, limit int) []bench.Sample {
	if len(samples) <= limit {
		return samples
	}
	stretches := limit / 2
	kept := make([]bench.Sample, 0, limit)
	for i := range stretches {
		from, to := i*len(samples)/stretches, (i+1)*len(samples)/stretches
		low, high := from, from
		for j := from; j < to; j++ {
			if samples[j].Pressure < samples[low].Pressure {
				low = j
			}
			if samples[j].Pressure > samples[high].Pressure {
				high = j
			}
		}
		kept = append(kept, samples[min(low, high)])
		if low != high {
			kept = append(kept, samples[max(low, high)])
		}
	}
	return kept
}
