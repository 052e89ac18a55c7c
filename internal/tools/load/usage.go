//go:build linux

package main

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"
)

// tick is the unit of the processor times in /proc, the same on every Linux that Go
// runs on (USER_HZ, proc(5)).
const tick = time.Second / 100

// usage is what a process has taken so far.
type usage struct {
	user, system time.Duration
	rss, file    int64 // bytes resident now; file is the part that is the program's own file and can be read again
	high         int64 // bytes resident at the most so far
}

// usageOf reads what the process has taken.
func usageOf(pid int) (u usage, err error) {
	stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return u, err
	}
	// The name in parentheses may hold anything; behind it the third field follows.
	_, rest, ok := strings.Cut(string(stat), ") ")
	fields := strings.Fields(rest)
	if !ok || len(fields) < 13 {
		return u, fmt.Errorf("read the processor time of process %d: %q is not as in proc(5)", pid, stat)
	}
	for i, to := range []*time.Duration{&u.user, &u.system} {
		n, err := strconv.ParseInt(fields[11+i], 10, 64) // fields 14 and 15
		if err != nil {
			return u, fmt.Errorf("read the processor time of process %d: %w", pid, err)
		}
		*to = time.Duration(n) * tick
	}
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return u, err
	}
	for line := range strings.Lines(string(status)) {
		name, value, _ := strings.Cut(line, ":")
		to, ok := map[string]*int64{"VmRSS": &u.rss, "RssFile": &u.file, "VmHWM": &u.high}[name]
		if !ok {
			continue
		}
		if _, err := fmt.Sscanf(value, "%d kB", to); err != nil {
			return u, fmt.Errorf("read the memory of process %d: %w", pid, err)
		}
		*to *= 1024
	}
	return u, nil
}

// taken is what a process took over a stretch of time.
type taken struct {
	user, system  float64 // of one processor, as a share
	mean, largest int64   // bytes resident
	file          int64   // bytes of the largest that are the program's own file
}

// watch looks at the process once a second for so long.
func watch(ctx context.Context, pid int, long time.Duration) (t taken, err error) {
	first, err := usageOf(pid)
	if err != nil {
		return t, err
	}
	begun, last := time.Now(), first
	looks := int64(0)
	look := time.NewTicker(time.Second)
	defer look.Stop()
	for time.Since(begun) < long {
		select {
		case <-look.C:
		case <-ctx.Done():
			return t, ctx.Err()
		}
		if last, err = usageOf(pid); err != nil {
			return t, err
		}
		looks++
		t.mean += last.rss
		if last.rss > t.largest {
			t.largest, t.file = last.rss, last.file
		}
	}
	took := time.Since(begun).Seconds()
	t.user, t.system = (last.user-first.user).Seconds()/took, (last.system-first.system).Seconds()/took
	t.mean /= max(looks, 1)
	return t, nil
}
