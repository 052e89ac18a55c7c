package bench

// Thin returns samples as few as a page draws of a whole hold.
func Thin(samples []Sample) []Sample { return thin(samples, tracePoints) }

// thin returns at most limit samples that draw the same picture: of each run of
// samples the lowest and the highest, in order of time. Short input is returned as it is.
func thin(samples []Sample, limit int) []Sample {
	if len(samples) <= limit || limit < 2 {
		return samples
	}
	runs := limit / 2
	out := make([]Sample, 0, 2*runs)
	for i := range runs {
		run := samples[i*len(samples)/runs : (i+1)*len(samples)/runs]
		low, high := 0, 0
		for j, s := range run {
			if s.Pressure < run[low].Pressure {
				low = j
			}
			if s.Pressure > run[high].Pressure {
				high = j
			}
		}
		out = append(out, run[min(low, high)])
		if low != high {
			out = append(out, run[max(low, high)])
		}
	}
	return out
}
