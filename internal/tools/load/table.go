//go:build linux

package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"
)

// print writes the table.
func (r result) print(out io.Writer, o options) error {
	const mega = 1 << 20
	rows := [][2]string{
		{"load", fmt.Sprintf("%d gauges at %g Hz over %s, at %s; %d browsers, %d slow readers; %d s", o.gauges, o.hz, o.over, o.at, o.browsers, o.slow, o.seconds)},
		{"start to address, to ready", fmt.Sprintf("%d ms, %d ms", r.address.Milliseconds(), r.ready.Milliseconds())},
		{"of one processor", fmt.Sprintf("%.1f %% (user %.1f, system %.1f)", 100*(r.taken.user+r.taken.system), 100*r.taken.user, 100*r.taken.system)},
		{"resident, mean and largest", fmt.Sprintf("%.1f MiB, %.1f MiB (%.1f of it the program's file)", float64(r.taken.mean)/mega, float64(r.taken.largest)/mega, float64(r.taken.file)/mega)},
		{"resident, most ever", fmt.Sprintf("%.1f MiB", float64(r.high)/mega)},
		{"readings written, taken, lost", fmt.Sprintf("%d, %.0f, %.0f", r.written, r.readings, r.lost)},
		{"holds, recording behind", fmt.Sprintf("%.0f, %.2f s", r.holds, r.lag)},
		{"events dropped for slow readers", fmt.Sprintf("%.0f", r.dropped)},
	}
	if n := len(r.latency); n > 0 {
		slices.Sort(r.latency)
		at := func(share float64) string { return milliseconds(r.latency[min(n-1, int(share*float64(n)))]) }
		rows = append(rows, [2]string{"line to picture: p50, p95, p99, largest", fmt.Sprintf("%s, %s, %s, %s (of %d readings)", at(0.5), at(0.95), at(0.99), at(1), n)})
	}
	_, err := fmt.Fprint(out, "| | |\n| --- | --- |\n")
	for _, row := range rows {
		_, e := fmt.Fprintf(out, "| %s | %s |\n", row[0], row[1])
		err = errors.Join(err, e)
	}
	return err
}

func milliseconds(d time.Duration) string { return fmt.Sprintf("%.0f ms", d.Seconds()*1e3) }
